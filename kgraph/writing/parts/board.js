/* The live board: tick what was noticed, and the chances are worked out at once; or let the class guess first. */
const Board = (() => {
  const board = Page.board;
  if (!board) return null;
  board.groups = board.groups.map(([g, kinds]) => [g, kinds]);
  const WORDS = [["", "not asked"], ["absent", "not there"], ["weak", "weak"], ["moderate", "plain"], ["strong", "strong"]];
  const SENSES = [["appearance", "Look"], ["aroma", "Smell"], ["taste", "Taste"], ["mouthfeel", "Mouthfeel"], ["chemesthesis", "Heat, cooling, tingle"], ["aftertaste", "After-taste"], ["felt", "Felt"], ["test", "Tests"]];
  const ticks = new Map(), active = new Set(), selects = new Map();
  let preset = new Map(), guessing = false, committed = false;

  const TENTHS = p => p < 0.0075 ? "under 1 in 100" : p < 0.015 ? "1 in 100" : p < 0.0325 ? "1 in 50" : p < 0.075 ? "1 in 20"
    : p < 0.925 ? `${Math.max(1, Math.min(9, Math.round(p * 10)))} in 10` : p < 0.975 ? "19 in 20" : p < 0.9925 ? "49 in 50" : "over 99 in 100";
  const about = p => TENTHS(p).startsWith("under") || TENTHS(p).startsWith("over") ? TENTHS(p) : "about " + TENTHS(p);
  const change = c => about(c.prior) + " → " + (TENTHS(c.prior) === TENTHS(c.posterior) && c.prior !== c.posterior ? c.posterior > c.prior ? "a little more" : "a little less" : TENTHS(c.posterior));
  const word = db => { const size = Math.abs(db), w = size >= 10 ? "strongly" : size >= 5 ? "clearly" : "weakly"; return `speaks ${w} ${db > 0 ? "for" : "against"}`; };

  function cells() {
    const looked = $("looked").checked ? board.standard : [];
    const own = new Map([...ticks].filter(([p]) => !preset.has(p)));
    if (!preset.size) return Sums.cellsOf(board, own, looked);
    /* what came with the record stands as it was pooled; what was ticked here is one taster's */
    return [...preset.values(), ...Sums.cellsOf(board, own, looked.filter(p => !preset.has(p)))];
  }

  function list(title, items, element = "ul") {
    const box = make("div"), inner = make(element);
    items.forEach(item => inner.append(item instanceof Node ? item : make("li", item)));
    box.append(make("h3", title), items.length ? inner : make("p", "nothing"));
    return box;
  }

  function show() {
    const out = $("boardout"), now = cells();
    out.replaceChildren();
    if (!now.length) { out.append(make("p", "Tick what was noticed, or what was looked for and is not there.")); $("boardsays").textContent = ""; return null; }
    const a = Sums.answer(board, now, [...active]);
    if (a.emergencies.length) {
      const warn = make("p", undefined, {class: "mind"});
      warn.append(make("strong", "WARNING. "), `These findings fit poisons too that are never to be tasted: ${a.emergencies.map(c => `${board.classes[c].label} (${about(a.classes[c].posterior)})`).join(", ")}. Taste no more; if any was swallowed, call a poison centre now.`);
      out.append(warn);
    }
    const avoid = a.cautions.filter(c => c.severity === "avoid"), care = a.cautions.filter(c => c.severity === "care");
    const mind = make("div", undefined, {class: "mind"});
    mind.append(make("h3", "Mind, from these findings"));
    for (const [kind, some] of [["AVOID", avoid], ["care", care]]) {
      if (some.length) mind.append(make("p", `${kind}: ` + some.map(c => `${c.label} (${c.because.slice(0, 2).map(k => board.classes[k].label).join(", ")})`).join("; ")));
    }
    if (!avoid.length && !care.length) mind.append(make("p", "nothing beyond what tasting cannot show"));
    out.append(mind);
    if (a.out.length) out.append(make("p", `Left out, too many findings at once: ${a.out.map(c => board.percepts[c.percept].label).join(", ")}.`));
    if (guessing && !committed) { out.append(make("p", "The answer is hidden until the class has committed itself.")); return a; }
    const line = c => {
      const item = make("li", `${c.label}: ${change(c)}; ${word(c.db)}`);
      const path = (c.paths || [])[0];
      if (path && path.chance >= 0.005) item.append(make("div", `${board.percepts[path.percept].label} ← ${board.classes[path.c].label}, ${about(path.chance)}`));
      return item;
    };
    const two = make("div", undefined, {class: "answers"});
    two.append(list("What may be in the cup: before → after", a.top.families.slice(0, 5).map(line), "ol"), list("What it belongs with, by practice; no promise that it works", a.top.actions.slice(0, 5).map(line), "ol"));
    const less = a.families.filter(f => f.standing === "fallen").sort((x, y) => x.posterior - x.prior - (y.posterior - y.prior)).slice(0, 5);
    two.append(list("Less likely now", less.map(c => `${c.label}: ${change(c)}`)));
    out.append(two);
    $("boardsays").textContent = a.top.families.length ? `First now: ${a.top.families[0].label}, ${about(a.top.families[0].posterior)}.` : "Nothing is much likelier than before.";
    return a;
  }

  /* -- the class guesses -------------------------------------------------------------------------------------- */
  function choices(a) {
    const likely = a.top.families.slice(0, 5), common = [...a.families].sort((x, y) => y.prior - x.prior).filter(f => !likely.some(l => l.id === f.id)).slice(0, 7);
    return [...likely, ...common].sort((x, y) => x.label < y.label ? -1 : 1);
  }
  function guess() {
    guessing = !guessing;
    committed = false;
    $("guess").setAttribute("aria-pressed", String(guessing));
    const box = $("hands");
    box.replaceChildren();
    const a = show();
    if (!guessing || !a) { guessing = guessing && !!a; if (!a) box.append(make("p", "Tick findings first.")); return; }
    const fields = make("fieldset"), form = make("div", undefined, {class: "ticks"});
    fields.append(make("legend", "Which is in the cup? Hands for each"));
    const inputs = choices(a).map(f => {
      const row = make("div"), label = make("label", f.label, {for: `hands-${f.id}`});
      const input = make("input", undefined, {id: `hands-${f.id}`, type: "number", min: "0", max: "999", value: "0", inputmode: "numeric"});
      row.append(label, input);
      form.append(row);
      return [f, input];
    });
    const commit = make("button", "Commit, and reveal", {type: "button"});
    commit.addEventListener("click", () => {
      committed = true;
      const after = show(), table = make("table"), places = after.top.families.map(f => f.id);
      const head = make("tr");
      ["family", "hands", "before → after", "place"].forEach(t => head.append(make("th", t, {scope: "col"})));
      table.append(make("caption", "What the class said, and what the sums say"), head);
      inputs.map(([f, input]) => [after.families.find(x => x.id === f.id), Math.max(0, Math.min(999, Number(input.value) || 0))]).sort((x, y) => y[1] - x[1]).forEach(([f, hands]) => {
        const tr = make("tr");
        [f.label, String(hands), change(f), places.includes(f.id) ? String(places.indexOf(f.id) + 1) : "not likelier"].forEach(t => tr.append(make("td", t)));
        table.append(tr);
      });
      const wide = make("div", undefined, {class: "wide"});
      wide.append(table);
      box.replaceChildren(wide);
    });
    fields.append(form, commit);
    box.append(fields);
  }

  /* -- the form ----------------------------------------------------------------------------------------------- */
  function build() {
    const standard = new Set(board.standard);
    const row = (p, i) => {
      const div = make("div"), select = make("select", undefined, {id: `tick-${i}`});
      const words = p.kind === "test" ? [["", "not done"], ["moderate", "yes"], ["absent", "no"]] : WORDS;
      words.forEach(([value, text]) => select.append(make("option", text, {value})));
      select.addEventListener("change", () => { preset.delete(i); if (select.value) ticks.set(i, select.value); else ticks.delete(i); show(); });
      selects.set(i, select);
      div.append(make("label", p.label, {for: `tick-${i}`}), select);
      return div;
    };
    for (const [everyday, target] of [[true, "ticks"], [false, "moreticks"]]) {
      for (const [sense, title] of SENSES) {
        const some = board.percepts.map((p, i) => [p, i]).filter(([p, i]) => p.sense === sense && standard.has(i) === everyday);
        if (!some.length) continue;
        const set = make("fieldset"), grid = make("div", undefined, {class: "ticks"});
        set.append(make("legend", title));
        some.forEach(([p, i]) => grid.append(row(p, i)));
        set.append(grid);
        $(target).append(set);
      }
    }
    for (const kind of ["preparation", "taster"]) {
      const set = make("fieldset"), grid = make("div", undefined, {class: "ticks"});
      set.append(make("legend", kind === "taster" ? "Who tastes" : "How the cup was made"));
      board.conditions.forEach((c, i) => {
        if (c.kind !== kind) return;
        const label = make("label"), box = make("input", undefined, {type: "checkbox", value: String(i)});
        box.addEventListener("change", () => { if (box.checked) active.add(i); else active.delete(i); show(); });
        if (Page.active.includes(i)) { box.checked = true; active.add(i); }
        label.append(box, c.label);
        grid.append(label);
      });
      set.append(grid);
      $("conditions").append(set);
    }
    $("looked").addEventListener("change", show);
    $("guess").addEventListener("click", guess);
    $("empty").addEventListener("click", () => { ticks.clear(); preset = new Map(); selects.forEach(s => { s.value = ""; }); guessing = committed = false; $("guess").setAttribute("aria-pressed", "false"); $("hands").replaceChildren(); show(); });
    if ($("again")) $("again").addEventListener("click", load);
    load();
  }
  function load() {
    ticks.clear();
    preset = new Map((Page.cells || []).map(c => [c.percept, c]));
    selects.forEach((s, i) => { const c = preset.get(i); s.value = c && c.state !== "unnoticed" ? c.state : ""; if (c) ticks.set(i, c.state); });
    show();
  }
  build();
  return {show, cells, board, active};
})();
