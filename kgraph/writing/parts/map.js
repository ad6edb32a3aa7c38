/* The picture: choosing, lighting, filtering, searching, and the steps. All text goes in as text. */
const Page = JSON.parse(document.getElementById("data").textContent);
const $ = id => document.getElementById(id);
const make = (tag, text, attributes = {}) => {
  const element = document.createElement(tag);
  if (text !== undefined) element.textContent = text;
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
};
const Drawing = (() => {
  const svg = document.querySelector("#view svg");
  const nodes = [...svg.querySelectorAll(".nodes .n")], lines = [...svg.querySelectorAll(".links .l")], heads = [...svg.querySelectorAll(".head")];
  const {layers, size} = Page, places = Page.nodes.map(n => [0, 0, n]);
  const off = {sense: new Set(), basis: new Set(), layer: new Set()};
  let chosen = -1, lit = null, only = false, scale = 1, herb = -1, shown = null, focused = 0;

  const before = Page.nodes.map(() => []), beyond = Page.nodes.map(() => []), beside = Page.nodes.map(() => []);
  Page.links.forEach((l, i) => {
    if (Page.nodes[l.s].y === Page.nodes[l.t].y) { beside[l.s].push([l.t, i]); beside[l.t].push([l.s, i]); }
    else { beyond[l.s].push([l.t, i]); before[l.t].push([l.s, i]); }
  });

  /* what stands on paths of reasoning through a node: leftwards to the senses, rightwards to cautions */
  function through(start) {
    const found = new Set([start]), links = new Set();
    for (const next of [before, beyond]) {
      const waiting = [start], seen = new Set([start]);
      while (waiting.length) {
        const at = waiting.pop();
        for (const [to, link] of next[at]) {
          links.add(link);
          found.add(to);
          if (!seen.has(to)) { seen.add(to); waiting.push(to); }
        }
      }
    }
    for (const [to, link] of beside[start]) { found.add(to); links.add(link); }
    return {nodes: found, links};
  }

  const visible = i => {
    const n = Page.nodes[i];
    if (shown && !shown.has(i)) return false;
    if (off.layer.has(n.y) || (n.k === "quality" && off.sense.has(n.e))) return false;
    return !(only && lit && !lit.nodes.has(i));
  };

  svg.classList.toggle("crowded", Page.links.length > 300);

  /* stack what is visible in its columns, and draw the lines between */
  function layout() {
    const columns = layers.map(layer => Page.nodes.map((n, i) => i).filter(i => Page.nodes[i].y === layer && visible(i)).sort((a, b) => Page.nodes[a].p - Page.nodes[b].p));
    const used = columns.filter(c => c.length), most = Math.max(1, ...columns.map(c => c.length));
    let column = 0;
    columns.forEach((list, number) => {
      heads[number].classList.toggle("off", !list.length);
      if (!list.length) return;
      heads[number].setAttribute("x", size.margin + column * size.column);
      list.forEach((i, place) => { places[i] = [size.margin + 10 + column * size.column, size.top + (place + (most > size.tall ? 0 : (most - list.length) / 2)) * size.row + size.row / 2, Page.nodes[i]]; });
      column++;
    });
    const on = new Set(columns.flat());
    nodes.forEach((element, i) => {
      element.classList.toggle("off", !on.has(i));
      if (on.has(i)) element.setAttribute("transform", `translate(${places[i][0]} ${places[i][1]})`);
    });
    Page.links.forEach((l, i) => {
      const seen = on.has(l.s) && on.has(l.t) && !off.basis.has(l.f) && !(shown && Page.steps.length && shownLinks && !shownLinks.has(i));
      lines[i].classList.toggle("off", !seen);
      if (seen) lines[i].setAttribute("d", curve(places[l.s], places[l.t]));
    });
    const width = 2 * size.margin + Math.max(1, used.length) * size.column, height = size.top + most * size.row + size.margin;
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    svg.setAttribute("width", width * scale);
    svg.setAttribute("height", height * scale);
    $("count").textContent = `${on.size} things shown`;
  }

  function curve([x1, y1, n], [x2, y2]) {
    if (x1 === x2) return `M${x1 - 11} ${y1} C${x1 - 46} ${y1} ${x2 - 46} ${y2} ${x2 - 11} ${y2}`;
    const from = x1 + n.w, to = x2 - 12, bend = Math.max(30, (to - from) / 2);
    return `M${from} ${y1} C${from + bend} ${y1} ${to - bend} ${y2} ${to} ${y2}`;
  }

  function light(found) {
    lit = found;
    svg.classList.toggle("lighting", !!lit);
    nodes.forEach((element, i) => { element.classList.toggle("lit", !!lit && lit.nodes.has(i)); element.classList.toggle("chosen", i === chosen); });
    lines.forEach((element, i) => element.classList.toggle("lit", !!lit && lit.links.has(i)));
    layout();
  }

  function choose(i, {scroll = true} = {}) {
    chosen = i;
    light(i < 0 ? herbLight() : through(i));
    nodes.forEach((element, n) => element.setAttribute("aria-pressed", n === i ? "true" : "false"));
    if (i >= 0) { rove(i); if (scroll) reveal(i); }
    describe(i);
  }

  function reveal(i) {
    const view = $("view"), [x, y] = places[i];
    view.scrollTo({left: Math.max(0, x * scale - view.clientWidth / 3), top: Math.max(0, y * scale - view.clientHeight / 2), behavior: "auto"});
  }

  function rove(i) { nodes[focused].setAttribute("tabindex", "-1"); focused = i; nodes[i].setAttribute("tabindex", "0"); }

  function herbLight() {
    if (herb < 0) return null;
    const found = new Set(Page.herbs[herb].n), links = new Set();
    Page.links.forEach((l, i) => { if (found.has(l.s) && found.has(l.t)) links.add(i); });
    return {nodes: found, links};
  }

  function describe(i) {
    const panel = $("details");
    panel.replaceChildren();
    if (i < 0) {
      panel.append(make("h3", "Nothing chosen"), make("p", "Choose a shape (click, or Enter) to read what is said of it, on whose word, and to light the paths through it."));
      return;
    }
    const n = Page.nodes[i];
    panel.append(make("h3", n.l));
    panel.append(make("p", n.k + (n.e ? `, ${n.e}` : "") + (n.a ? `; also: ${n.a}` : "")));
    if (n.m === "never") panel.append(make("p", "NEVER TO BE TASTED.", {class: "danger"}));
    if (n.d) panel.append(make("p", n.d));
    const cited = new Set();
    const links = Page.links.map((l, k) => [l, k]).filter(([l]) => l.s === i || l.t === i);
    if (links.length) {
      const list = make("ul");
      for (const [l] of links) {
        const item = make("li", l.x);
        for (const c of l.c.map(k => Page.claims[k])) {
          const said = make("div", `${c.t}${c.n ? " " + c.n : ""}`);
          c.s.forEach(number => cited.add(number));
          item.append(said);
        }
        list.append(item);
      }
      panel.append(make("h3", `Statements (${links.length})`), list);
    }
    if (cited.size) {
      const list = make("ul");
      [...cited].sort((a, b) => a - b).forEach(number => list.append(make("li", `${number} ${Page.sources[number - 1]}`)));
      panel.append(make("h3", "Sources"), list);
    }
    $("live").textContent = `${n.l} chosen, ${links.length} statements.`;
  }

  /* -- keys on the picture: arrows walk, Enter chooses, Escape lets go ---------------------------------------- */
  function walk(i, key) {
    const n = Page.nodes[i], mine = Page.nodes.map((_, k) => k).filter(k => Page.nodes[k].y === n.y && !nodes[k].classList.contains("off")).sort((a, b) => Page.nodes[a].p - Page.nodes[b].p);
    if (key === "ArrowDown" || key === "ArrowUp") return mine[mine.indexOf(i) + (key === "ArrowDown" ? 1 : -1)];
    const next = (key === "ArrowRight" ? beyond : before)[i].map(([to]) => to).filter(k => !nodes[k].classList.contains("off"));
    return next.sort((a, b) => Math.abs(places[a][1] - places[i][1]) - Math.abs(places[b][1] - places[i][1]))[0];
  }
  svg.addEventListener("click", event => { const g = event.target.closest(".n"); if (g) choose(+g.dataset.n, {scroll: false}); });
  svg.addEventListener("keydown", event => {
    const g = event.target.closest(".n");
    if (!g) return;
    const i = +g.dataset.n;
    if (event.key === "Enter" || event.key === " ") { event.preventDefault(); choose(i, {scroll: false}); }
    else if (event.key === "Escape") { choose(-1); }
    else if (event.key.startsWith("Arrow")) {
      event.preventDefault();
      event.stopPropagation();
      const to = walk(i, event.key);
      if (to !== undefined) { rove(to); nodes[to].focus({preventScroll: true}); reveal(to); }
    }
  });
  nodes.forEach((element, i) => {
    element.setAttribute("role", "button");
    element.setAttribute("tabindex", i === 0 ? "0" : "-1");
    element.setAttribute("aria-pressed", "false");
    element.setAttribute("aria-label", Page.nodes[i].l + (Page.nodes[i].m === "never" ? ", never to be tasted" : "") + ", " + Page.nodes[i].k);
    const ring = document.createElementNS("http://www.w3.org/2000/svg", "rect");
    for (const [name, value] of [["class", "ring"], ["x", -14], ["y", -13], ["width", Page.nodes[i].w + 14], ["height", 26], ["rx", 4]]) ring.setAttribute(name, value);
    element.append(ring);
  });

  /* -- controls ----------------------------------------------------------------------------------------------- */
  document.querySelectorAll("[data-off]").forEach(box => box.addEventListener("change", () => {
    const [what, value] = [box.dataset.off, box.dataset.off === "layer" ? +box.value : box.value];
    if (box.checked) off[what].delete(value); else off[what].add(value);
    layout();
  }));
  $("only").addEventListener("click", () => { only = !only; $("only").setAttribute("aria-pressed", String(only)); layout(); if (chosen >= 0) reveal(chosen); else $("view").scrollTo(0, 0); });
  $("clear").addEventListener("click", () => { herb = -1; if ($("herb")) $("herb").value = "-1"; choose(-1); });
  const zoom = by => { scale = by ? Math.min(3, Math.max(0.2, scale * by)) : Math.min(1.5, ($("view").clientWidth - 4) / svg.viewBox.baseVal.width); layout(); };
  $("larger").addEventListener("click", () => zoom(1.25));
  $("smaller").addEventListener("click", () => zoom(0.8));
  $("fit").addEventListener("click", () => zoom(0));
  if ($("herb")) $("herb").addEventListener("change", () => {
    herb = +$("herb").value;
    chosen = -1;
    light(herbLight());
    const panel = $("details");
    panel.replaceChildren();
    if (herb < 0) return describe(-1);
    const h = Page.herbs[herb];
    panel.append(make("h3", h.l), make("p", h.b));
    if (h.m === "never") panel.append(make("p", "NEVER TO BE TASTED.", {class: "danger"}));
    panel.append(make("p", `${h.n.length} of the things drawn are said of it: they are lit. ${h.w ? "To avoid: " + h.w : ""}`));
    $("live").textContent = `${h.l}: ${h.n.length} things lit.`;
  });
  $("search").addEventListener("input", () => {
    const wanted = $("search").value.trim().toLowerCase(), list = $("found");
    list.replaceChildren();
    if (!wanted) { $("live").textContent = ""; return; }
    const hits = Page.nodes.map((n, i) => [n, i]).filter(([n]) => `${n.l} ${n.a}`.toLowerCase().includes(wanted))
      .sort((a, b) => b[0].l.toLowerCase().startsWith(wanted) - a[0].l.toLowerCase().startsWith(wanted) || a[0].l.length - b[0].l.length || a[1] - b[1]);
    for (const [n, i] of hits.slice(0, 12)) {
      const button = make("button", `${n.l} (${n.k})`, {type: "button"});
      button.addEventListener("click", () => { choose(i); nodes[i].focus({preventScroll: true}); });
      const item = make("li");
      item.append(button);
      list.append(item);
    }
    $("live").textContent = hits.length ? `${hits.length} found.` : "Nothing is called so.";
  });
  document.querySelectorAll("[data-node]").forEach(button => button.addEventListener("click", () => { choose(+button.dataset.node); $("map").scrollIntoView(); nodes[+button.dataset.node].focus({preventScroll: true}); }));
  document.querySelectorAll("[data-link]").forEach(button => button.addEventListener("click", () => {
    const l = Page.links[+button.dataset.link];
    choose(l.s);
    light({nodes: new Set([l.s, l.t]), links: new Set([+button.dataset.link])});
    $("map").scrollIntoView();
  }));
  $("tone").addEventListener("click", () => {
    const root = document.documentElement, dark = root.dataset.tone ? root.dataset.tone === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
    root.dataset.tone = dark ? "light" : "dark";
  });

  /* -- step by step ------------------------------------------------------------------------------------------- */
  let step = -1, shownLinks = null;
  function go(to) {
    if (!Page.steps.length) return;
    step = Math.max(-1, Math.min(Page.steps.length - 1, to));
    const say = $("say");
    say.replaceChildren();
    if (step < 0) {
      shown = shownLinks = null;
      only = false;
      say.append(make("p", `${Page.steps.length} steps. Start with the button, the right arrow or Page Down.`));
      chosen = -1;
      light(null);
    } else {
      shown = new Set(Page.steps.slice(0, step + 1).flatMap(s => s.show));
      shownLinks = new Set(Page.steps.slice(0, step + 1).flatMap(s => s.links));
      const s = Page.steps[step];
      say.append(make("h3", `${step + 1} of ${Page.steps.length}: ${s.title}`), make("p", s.text));
      chosen = -1;
      light(s.light.length ? {nodes: new Set(s.light), links: new Set(s.links)} : null);
      if (s.light.length) reveal(s.light[0]); else $("view").scrollTo(0, 0);
    }
    $("jump").value = String(step);
  }
  if (Page.steps.length) {
    $("start").addEventListener("click", () => go(0));
    $("back").addEventListener("click", () => go(step - 1));
    $("next").addEventListener("click", () => go(step + 1));
    $("stop").addEventListener("click", () => go(-1));
    $("jump").addEventListener("change", () => go(+$("jump").value));
    $("full").addEventListener("click", () => { if (document.fullscreenElement) document.exitFullscreen(); else $("map").requestFullscreen(); });
    document.addEventListener("keydown", event => {
      if (event.ctrlKey || event.altKey || event.metaKey || event.target.closest("input, select, textarea, .n")) return;
      const by = {ArrowRight: 1, PageDown: 1, ArrowLeft: -1, PageUp: -1}[event.key];
      if (by && (step >= 0 || (by > 0 && Page.present))) { event.preventDefault(); go(step + by); }
      else if (event.key === "Home" && step >= 0) { event.preventDefault(); go(0); }
    });
    go(-1);
  } else layout();
  window.addEventListener("beforeprint", () => { scale = 1; layout(); });
  describe(-1);
  return {choose, go, layout};
})();
