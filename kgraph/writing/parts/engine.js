"use strict";
/* The exact sums of kgraph in the page: the same network, the same reports, the same elimination.
   A board holds: classes [{prior, major}], percepts [{id, kind, false}], arcs [[class, percept, strength]], other [percept],
   groups {percept: [percepts]}, reports {state: [there, not there]}, plain [states], families, actions, carriers, conditions. */
const Sums = (() => {
  const CAP = 0.999, WIDEST = 20;
  const SAID = ["absent", "weak", "moderate", "strong"];

  /* -- from ticks to cells ------------------------------------------------------------------------------------ */

  function report(board, state, percept) {
    const [there, notThere] = board.reports[state], factor = board.percepts[percept].false;
    if (factor === 1) return [there, notThere];
    return state === "absent" || state === "unnoticed" ? [there, 1 - (1 - notThere) * factor] : [there, notThere * factor];
  }

  function cellOf(percept, state, ratio, plain) {
    return {percept, state, there: Math.exp(Math.min(0, ratio)), notThere: Math.exp(Math.min(0, -ratio)), plain};
  }

  /* ticks: Map percept -> state; looked: percepts asked for and not mentioned count a little against. */
  function cellsOf(board, ticks, looked) {
    const states = new Map(ticks);
    for (const [group, kinds] of board.groups) {
      if (!states.has(group)) continue;
      const strongest = Math.max(0, ...kinds.filter(k => states.has(k)).map(k => Math.max(0, SAID.indexOf(states.get(k)))));
      if (strongest && Math.max(0, SAID.indexOf(states.get(group))) <= strongest) states.delete(group);
    }
    const coloured = [...ticks.keys()].some(p => board.percepts[p].kind === "colour");
    for (const p of looked) {
      if (states.has(p) || (coloured && board.percepts[p].kind === "colour")) continue;
      states.set(p, "unnoticed");
    }
    const silent = [...states.values()].filter(s => s === "unnoticed").length;
    const damp = silent ? 1 / (1 + (silent - 1) * board.silence) : 1;
    const cells = [];
    for (const [p, state] of states) {
      if (board.percepts[p].kind === "test") {
        const ratio = Math.log((1 - board.misread) / board.misread);
        cells.push(cellOf(p, state, state === "absent" ? -ratio : ratio, false));
        continue;
      }
      const [there, notThere] = report(board, state, p);
      const ratio = Math.log(there / notThere) * (state === "unnoticed" ? damp : 1);
      cells.push(cellOf(p, state, ratio, ratio > 0 && board.plain.includes(state)));
    }
    return oneThreshold(board, cells);
  }

  function oneThreshold(board, cells) {
    const plain = new Map(cells.map(c => [c.percept, c.plain])), lower = new Set();
    for (const [group, kinds] of board.groups) {
      const family = [group, ...kinds].filter(p => plain.has(p));
      if (plain.has(group) && new Set(family.map(p => plain.get(p))).size > 1) family.forEach(p => lower.add(p));
    }
    return cells.map(c => lower.has(c.percept) ? {...c, plain: false} : c);
  }

  const speaksFor = cell => ["weak", "moderate", "strong"].includes(cell.state) && cell.there > cell.notThere;

  /* -- conditions --------------------------------------------------------------------------------------------- */

  function circumstancesOf(board, active) {
    const around = {drawn: new Map(), dulled: new Map(), faked: new Map()};
    for (const number of active) for (const e of board.conditions[number].effects) {
      if (e.relation === "fakes") around.faked.set(e.target[0], [...(around.faked.get(e.target[0]) || []), e.value]);
      else {
        const into = e.relation === "dulls" ? around.dulled : around.drawn;
        for (const t of e.target) into.set(t, (into.has(t) ? into.get(t) : 1) * e.value);
      }
    }
    return around;
  }

  /* -- the network that the cells touch ----------------------------------------------------------------------- */

  function pose(board, around, cells) {
    const index = new Map(cells.map((c, i) => [c.percept, i])), into = new Map(), parent = new Map();
    for (const [group, kinds] of board.groups) if (index.has(group)) for (const k of kinds) if (index.has(k)) parent.set(k, index.get(group));
    cells.forEach((c, i) => into.set(c.percept, i));
    for (const [group, kinds] of board.groups) if (index.has(group)) for (const k of kinds) if (!index.has(k)) into.set(k, index.get(group));
    const bits = cells.map(c => ({there: c.there, notThere: c.notThere, quiet: 1, parent: parent.has(c.percept) ? parent.get(c.percept) : -1}));
    for (const [p, i] of into) {
      let nothing = 1 - board.other[p] * (cells[i].plain ? board.plainOther : 1);
      for (const value of around.faked.get(p) || []) nothing *= 1 - value;
      bits[i].quiet *= nothing;
    }
    for (const b of bits) b.other = 1 - b.quiet;
    const nodes = [];
    board.arcsOf.forEach((arcs, c) => {
      const quiet = new Map();
      const {prior, major} = board.classes[c], minor = prior - major;
      for (const [p, strength] of arcs) {
        if (!into.has(p)) continue;
        const i = into.get(p), plain = cells[i].plain;
        const factor = (around.drawn.has(c) ? around.drawn.get(c) : 1) * (around.dulled.has(p) ? around.dulled.get(p) : 1);
        const loud = Math.min(CAP, strength * factor * (plain ? board.plainMajor : 1));
        const faint = minor > 0 ? Math.min(CAP, strength * factor * board.faint[plain ? 1 : 0]) : 0;
        const [a, b] = quiet.get(i) || [1, 1];
        quiet.set(i, [a * (1 - loud), b * (1 - faint)]);
      }
      const found = [...quiet].filter(([, [a]]) => a < 1).map(([bit, [a, b]]) => ({bit, loud: 1 - a, faint: 1 - b}));
      if (found.length) nodes.push({c, major: prior - minor, minor, arcs: found});
    });
    return {bits, nodes, order: greedy(bits, nodes)};
  }

  function greedy(bits, nodes) {
    const needs = nodes.map(n => new Set(n.arcs.flatMap(a => bits[a.bit].parent >= 0 ? [a.bit, bits[a.bit].parent] : [a.bit])));
    const left = new Set(nodes.keys()), counts = bits.map(() => 0), live = new Set(), order = [];
    needs.forEach(s => s.forEach(b => counts[b]++));
    while (left.size) {
      let best = -1, key = Infinity, second = Infinity;
      for (const n of left) {
        let opening = 0, closing = 0;
        for (const b of needs[n]) { if (!live.has(b)) opening++; if (counts[b] === 1) closing++; }
        if (opening - closing < key || (opening - closing === key && opening < second)) { best = n; key = opening - closing; second = opening; }
      }
      left.delete(best);
      order.push(best);
      for (const b of needs[best]) { live.add(b); if (--counts[b] === 0) live.delete(b); }
    }
    return order;
  }

  /* -- exact elimination: a table over the live percepts, one class at a time --------------------------------- */

  /* The steps for a posed network; null where the table would be too wide. A live percept is one bit of the table's index. */
  function planOf(posed) {
    const {bits, nodes, order} = posed, steps = [], live = [];
    const touches = bits.map(() => 0), children = bits.map(() => 0);
    nodes.forEach(n => n.arcs.forEach(a => touches[a.bit]++));
    const untouched = bits.map((b, i) => touches[i] === 0 && (b.parent >= 0 || bits.every(o => o.parent !== i)));
    bits.forEach(b => { if (b.parent >= 0) children[b.parent]++; });
    let width = 0;
    const enter = bit => { live.push(bit); width = Math.max(width, live.length); steps.push({op: "enter", size: 1 << (live.length - 1)}); };
    const leave = bit => {
      const {parent} = bits[bit];
      if (parent >= 0 && !live.includes(parent)) enter(parent);
      const at = live.indexOf(bit);
      steps.push({op: "leave", bit, at, up: parent >= 0 ? 1 << live.indexOf(parent) : 0, size: 1 << live.length});
      live.splice(at, 1);
      if (parent >= 0 && --children[parent] === 0 && touches[parent] === 0) leave(parent);
    };
    for (const number of order) {
      const node = nodes[number];
      for (const a of node.arcs) if (!live.includes(a.bit)) enter(a.bit);
      if (width > WIDEST) return null;
      steps.push({op: "take", number, size: 1 << live.length, arcs: node.arcs.map(a => ({...a, mask: 1 << live.indexOf(a.bit)}))});
      for (const a of node.arcs) if (--touches[a.bit] === 0 && live.includes(a.bit) && children[a.bit] === 0) leave(a.bit);
    }
    untouched.forEach((yes, bit) => { if (yes) { enter(bit); leave(bit); } });
    return width > WIDEST ? null : steps;
  }

  function leaf(bit) {
    const off = (1 - bit.other) * bit.notThere + bit.other * bit.there, nothing = (1 - bit.other) * bit.notThere;
    return {off, on: bit.there, nothing, byOther: off - nothing};
  }

  /* Rows of a table lie side by side: cell i of row r is table[i * rows + r]. */
  function leaveStep(table, step, bit, rows) {
    const {at, up} = step, mask = 1 << at, low = mask - 1, half = step.size / 2, kept = new Float64Array(half * rows), {off, on, nothing, byOther} = leaf(bit);
    for (let i = 0; i < half; i++) {
      const j = ((i & ~low) << 1) | (i & low);
      if (!up) {
        for (let r = 0; r < rows; r++) kept[i * rows + r] = table[j * rows + r] * off + table[(j | mask) * rows + r] * on;
      } else if (!(j & up)) {
        const higher = j | up, k = ((higher >> (at + 1)) << at) | (higher & low);
        for (let r = 0; r < rows; r++) {
          const none = table[j * rows + r];
          kept[i * rows + r] = none * nothing;
          kept[k * rows + r] = none * byOther + (table[(j | mask) * rows + r] + table[(j | mask | up) * rows + r]) * on + table[(j | up) * rows + r] * off;
        }
      }
    }
    return kept;
  }

  function move(part, arcs, faint, size, rows) {
    for (const a of arcs) {
      const s = faint ? a.faint : a.loud, keep = 1 - s;
      for (let i = 0; i < size; i++) {
        if (i & a.mask) continue;
        const from = i * rows, to = (i | a.mask) * rows;
        for (let r = 0; r < rows; r++) { part[to + r] += s * part[from + r]; part[from + r] *= keep; }
      }
    }
  }

  /* P(reports, and no class of the row takes part) for each row; kept: node -> share that does not take part, one a row. */
  function totals(posed, steps, kept, rows) {
    let table = new Float64Array(rows).fill(1);
    for (const step of steps) {
      if (step.op === "enter") {
        const grown = new Float64Array(2 * step.size * rows);
        grown.set(table);
        table = grown;
      } else if (step.op === "leave") table = leaveStep(table, step, posed.bits[step.bit], rows);
      else {
        const node = posed.nodes[step.number], share = kept.get(step.number), cells = step.size * rows, whole = new Float64Array(cells);
        const absent = 1 - node.major - node.minor;
        for (let i = 0; i < cells; i++) whole[i] = table[i] * absent;
        for (const faint of [false, true]) {
          const weight = faint ? node.minor : node.major;
          if (!(weight > 0)) continue;
          const part = new Float64Array(cells);
          if (share) for (let i = 0; i < step.size; i++) for (let r = 0; r < rows; r++) part[i * rows + r] = table[i * rows + r] * weight * share[r];
          else for (let i = 0; i < cells; i++) part[i] = table[i] * weight;
          move(part, step.arcs, faint, step.size, rows);
          for (let i = 0; i < cells; i++) whole[i] += part[i];
        }
        table = whole;
      }
    }
    return table;
  }

  /* One forward and one backward pass: P(reports), P(class there, reports), and P(class there, its arc gave the percept, reports). */
  function marginals(posed, steps) {
    const before = [];
    let table = new Float64Array([1]);
    for (const step of steps) {
      before.push(table);
      if (step.op === "enter") { const grown = new Float64Array(2 * step.size); grown.set(table); table = grown; }
      else if (step.op === "leave") table = leaveStep(table, step, posed.bits[step.bit], 1);
      else {
        const node = posed.nodes[step.number], whole = table.map(v => v * (1 - node.major - node.minor));
        for (const faint of [false, true]) {
          const weight = faint ? node.minor : node.major;
          if (!(weight > 0)) continue;
          const part = table.map(v => v * weight);
          move(part, step.arcs, faint, step.size, 1);
          for (let i = 0; i < step.size; i++) whole[i] += part[i];
        }
        table = whole;
      }
    }
    const whole = table[0], there = posed.nodes.map(() => 0), fired = new Map();
    let after = new Float64Array([1]);
    for (let n = steps.length - 1; n >= 0; n--) {
      const step = steps[n], front = before[n];
      if (step.op === "enter") after = after.slice(0, step.size);
      else if (step.op === "leave") after = unleave(after, step, posed.bits[step.bit]);
      else {
        const node = posed.nodes[step.number], back = after.map(v => v * (1 - node.major - node.minor));
        for (const faint of [false, true]) {
          const weight = faint ? node.minor : node.major;
          if (!(weight > 0)) continue;
          for (const own of step.arcs) {
            const rest = pull(after, step.arcs.filter(a => a !== own), faint), s = faint ? own.faint : own.loud;
            let sum = 0;
            for (let i = 0; i < step.size; i++) sum += front[i] * rest[i | own.mask];
            const key = step.number + "/" + own.bit;
            fired.set(key, (fired.get(key) || 0) + weight * s * sum);
          }
          const pulled = pull(after, step.arcs, faint);
          let sum = 0;
          for (let i = 0; i < step.size; i++) { sum += front[i] * pulled[i]; back[i] += weight * pulled[i]; }
          there[step.number] += weight * sum;
        }
        after = back;
      }
    }
    return {whole, there, fired};
  }

  function pull(after, arcs, faint) {
    const found = after.slice();
    for (const a of arcs) {
      const s = faint ? a.faint : a.loud;
      for (let i = 0; i < found.length; i++) if (!(i & a.mask)) found[i] = found[i] * (1 - s) + s * found[i | a.mask];
    }
    return found;
  }

  function unleave(after, step, bit) {
    const {at, up, size} = step, mask = 1 << at, low = mask - 1, found = new Float64Array(size), {off, on, nothing, byOther} = leaf(bit);
    const reduced = j => ((j >> (at + 1)) << at) | (j & low);
    for (let j = 0; j < size; j++) {
      if (!up) found[j] = after[reduced(j)] * (j & mask ? on : off);
      else {
        const yes = after[reduced(j | up)];
        found[j] = j & mask ? on * yes : j & up ? off * yes : nothing * after[reduced(j)] + byOther * yes;
      }
    }
    return found;
  }

  /* -- answers ------------------------------------------------------------------------------------------------ */

  function narrowed(board, around, cells) {
    const left = [...cells], out = [];
    for (;;) {
      const posed = pose(board, around, left), steps = planOf(posed);
      if (steps) return {cells: left, out, posed, steps};
      const weakest = left.reduce((a, b) => Math.abs(Math.log(b.there / b.notThere)) < Math.abs(Math.log(a.there / a.notThere)) ? b : a);
      left.splice(left.indexOf(weakest), 1);
      out.push(weakest);
    }
  }

  const decibans = (prior, posterior) => prior <= 0 || prior >= 1 ? 0
    : 10 * Math.log10(Math.max(posterior, 1e-300) / Math.max(1 - posterior, 1e-17) / (prior / (1 - prior)));

  function standing(prior, posterior) {
    const db = decibans(prior, posterior);
    return db <= -1 ? "fallen" : db < 1 ? "unchanged" : posterior >= 0.1 ? "risen" : "unlikely";
  }

  const firm = v => Math.round(v * 1e12) / 1e12;

  /* Everything that the board shows: families, actions, classes with chances before and after, paths of the first ones, cautions. */
  function answer(board, cells, active) {
    const around = circumstancesOf(board, active);
    const {cells: kept, out, posed, steps} = narrowed(board, around, cells);
    const at = new Map(posed.nodes.map((n, i) => [n.c, i])), {whole, there, fired: arcs} = marginals(posed, steps);
    const priorAny = parts => 1 - parts.reduce((none, [c, part]) => none * (1 - board.classes[c].prior * part), 1);
    const clip = p => Math.min(1, Math.max(0, p));
    /* chances that any class takes part, all questions in one pass */
    const anyOf = questions => {
      const rows = questions.length, shares = new Map(), outside = new Float64Array(rows).fill(1);
      questions.forEach((parts, r) => {
        for (const [c, part] of parts) {
          if (!at.has(c)) { outside[r] *= 1 - board.classes[c].prior * part; continue; }
          if (!shares.has(at.get(c))) shares.set(at.get(c), new Float64Array(rows).fill(1));
          shares.get(at.get(c))[r] *= 1 - part;
        }
      });
      const none = rows ? totals(posed, steps, shares, rows) : [];
      return questions.map((_, r) => clip(1 - none[r] / whole * outside[r]));
    };
    const judged = (thing, prior, posterior) => ({...thing, prior, posterior, db: decibans(prior, posterior), standing: standing(prior, posterior)});
    const classes = board.classes.map((thing, c) => judged({number: c, id: thing.id, label: thing.label}, thing.prior, at.has(c) ? clip(there[at.get(c)] / whole) : thing.prior));
    const wide = board.families.filter(f => f.members.length > 1), every = members => members.map(c => [c, 1]);
    const questions = [...wide.map(f => every(f.members)), ...board.actions.map(a => a.arcs), ...board.carriers.map(k => every(k.classes))];
    const chances = anyOf(questions), chanceOf = new Map([...wide, ...board.actions, ...board.carriers].map((thing, i) => [thing, chances[i]]));
    const families = board.families.map(f => f.members.length === 1 ? {...classes[f.members[0]], ...f} : judged(f, priorAny(every(f.members)), chanceOf.get(f)));
    const actions = board.actions.map(a => judged(a, priorAny(a.arcs), chanceOf.get(a)));
    const ranked = list => list.filter(f => f.standing === "risen")
      .sort((a, b) => firm(b.posterior - b.prior) - firm(a.posterior - a.prior) || (a.id < b.id ? -1 : 1));
    const top = {families: ranked(families), actions: ranked(actions)};
    const reported = kept.map((c, i) => [c, i]).filter(([c]) => speaksFor(c));
    const fired = (c, bit) => at.has(c) ? (arcs.get(at.get(c) + "/" + bit) || 0) / whole : 0;
    const pathsOf = parts => parts.flatMap(([c, part]) => reported.map(([cell, i]) => ({percept: cell.percept, c, chance: fired(c, i) * part})))
      .filter(p => p.chance > 0)
      .sort((a, b) => (board.percepts[a.percept].kind === "test") - (board.percepts[b.percept].kind === "test") || firm(b.chance) - firm(a.chance) || (board.percepts[a.percept].id < board.percepts[b.percept].id ? -1 : board.percepts[a.percept].id > board.percepts[b.percept].id ? 1
        : board.classes[a.c].id < board.classes[b.c].id ? -1 : 1));
    const shown = new Set();
    for (const f of top.families.slice(0, 3)) { f.paths = pathsOf(f.members.map(c => [c, 1])); if (f.paths.length) shown.add(f.paths[0].c); }
    for (const a of top.actions.slice(0, 3)) { a.paths = pathsOf(a.arcs); if (a.paths.length) shown.add(a.paths[0].c); }
    const rose = c => classes[c].posterior - classes[c].prior >= 0.02 && classes[c].db >= 2;
    const cautions = [];
    for (const k of board.carriers) {
      const prior = priorAny(every(k.classes)), posterior = chanceOf.get(k);
      const risen = posterior - prior >= 0.02 && decibans(prior, posterior) >= 2;
      if (!(risen || k.classes.some(c => shown.has(c) || rose(c)))) continue;
      const because = k.classes.filter(c => shown.has(c) || classes[c].posterior - classes[c].prior >= 0.02);
      cautions.push({...k, posterior, because: because.length ? because : k.classes.slice(0, 1)});
    }
    const order = {avoid: 0, care: 1, information: 2};
    cautions.sort((a, b) => order[a.severity] - order[b.severity] || firm(b.posterior) - firm(a.posterior) || (a.id < b.id ? -1 : 1));
    const emergencies = board.never.filter(c => classes[c].posterior >= 0.02 && classes[c].db >= 5).sort((a, b) => firm(classes[b].posterior) - firm(classes[a].posterior) || (board.classes[a].id < board.classes[b].id ? -1 : 1));
    return {families, actions, classes, top, cautions, emergencies, cells: kept, out};
  }

  return {cellsOf, answer, speaksFor, decibans};
})();
