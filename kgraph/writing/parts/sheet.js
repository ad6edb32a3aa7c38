"use strict";
/* A blank tasting sheet that fills itself into a record (format 1). Nothing about the herbs stands on it until it is finished. */
const Sheet = JSON.parse(document.getElementById("data").textContent);
const $ = id => document.getElementById(id);
const make = (tag, text, attributes = {}) => { const e = document.createElement(tag); if (text !== undefined) e.textContent = text; for (const [n, v] of Object.entries(attributes)) e.setAttribute(n, v); return e; };
const KEY = "kgraph-sheet-" + Sheet.id;
const STRENGTHS = [["", "not asked"], ["absent", "looked for, not there"], ["weak", "weak"], ["moderate", "plain"], ["strong", "strong"]];
let draft = {tasters: Sheet.tasters.length ? Sheet.tasters : ["A"], cells: {}, states: {}, words: {}, swallowed: {}, finished: {}, ok: false, when: {}};
try { const kept = localStorage.getItem(KEY); if (kept) draft = {...draft, ...JSON.parse(kept)}; } catch { /* a browser that keeps nothing: the sheet still works */ }
let taster = draft.tasters[0], sample = 0;

const at = () => Sheet.samples[sample].code + "/" + taster;
function keep() { try { localStorage.setItem(KEY, JSON.stringify(draft)); $("kept").textContent = "Draft kept on this device."; } catch { $("kept").textContent = "This browser keeps no draft: save before you leave."; } }

function choices() {
  $("taster").replaceChildren(...draft.tasters.map(t => make("option", t, {value: t})));
  $("taster").value = taster;
  const order = Sheet.orders[draft.tasters.indexOf(taster)] || Sheet.samples.map((_, i) => i);
  $("sample").replaceChildren(...order.map((i, n) => make("option", `${n + 1}. sample ${Sheet.samples[i].code}`, {value: String(i)})));
  $("sample").value = String(sample);
}

function show() {
  choices();
  const cells = draft.cells[at()] || {}, when = draft.when[at()] || {};
  document.querySelectorAll("[data-quality]").forEach(select => { select.value = cells[select.dataset.quality] || ""; });
  document.querySelectorAll("[data-when]").forEach(select => { select.value = when[select.dataset.when] || ""; select.hidden = !["weak", "moderate", "strong"].includes(cells[select.dataset.when]); });
  document.querySelectorAll("[data-state]").forEach(box => { box.checked = (draft.states[taster] || []).includes(box.value); });
  $("words").value = draft.words[at()] || "";
  $("swallowed").value = draft.swallowed[taster] || "";
  $("finished").checked = !!draft.finished[at()];
  $("work").hidden = !draft.ok;
  $("ok").checked = draft.ok;
  const all = Sheet.samples.every(s => draft.tasters.every(t => draft.finished[s.code + "/" + t]));
  $("reveal").disabled = !all;
  $("revealhint").textContent = all ? "" : "When every taster has finished every sample, the names can be shown.";
  if (!all) $("names").replaceChildren();
}

/* -- the record: quoted as JSON quotes, which YAML reads as it is -- */
const q = text => JSON.stringify(text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029]+/g, " "));
function record(number) {
  const {code} = Sheet.samples[number], lines = ["record: 1", `tasted_on: ${q(new Date().toLocaleDateString("sv-SE"))}`];
  lines.push(`sample: {code: ${q(code)}}`, "tasters:");
  const mine = draft.tasters.filter(t => Object.keys(draft.cells[code + "/" + t] || {}).length || (draft.words[code + "/" + t] || "").trim());
  for (const t of mine) {
    const parts = [];
    if ((draft.states[t] || []).length) parts.push(`state: [${draft.states[t].map(q).join(", ")}]`);
    if (draft.swallowed[t]) parts.push(`swallowed: ${draft.swallowed[t] === "yes"}`);
    lines.push(`  ${q(t)}: {${parts.join(", ")}}`);
  }
  lines.push("findings:");
  const words = [];
  for (const t of mine) {
    const key = code + "/" + t;
    for (const [quality, strength] of Object.entries(draft.cells[key] || {})) {
      const when = (draft.when[key] || {})[quality];
      lines.push(`  - {taster: ${q(t)}, quality: ${q(quality)}, strength: ${strength}${when && strength !== "absent" ? `, when: ${when}` : ""}}`);
    }
    if ((draft.words[key] || "").trim()) words.push(`  - {taster: ${q(t)}, text: ${q(draft.words[key].trim())}}`);
  }
  if (words.length) lines.push("impressions:", ...words);
  return lines.join("\n") + "\n";
}
function save() {
  const {code} = Sheet.samples[sample];
  if (!draft.tasters.some(t => Object.keys(draft.cells[code + "/" + t] || {}).length)) { $("kept").textContent = "Nothing is ticked for this sample yet."; return; }
  const link = make("a", "", {download: `tasting-${code}.yaml`});
  link.href = URL.createObjectURL(new Blob([record(sample)], {type: "application/yaml"}));
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  $("kept").textContent = `Saved as tasting-${code}.yaml.`;
}

/* -- prompts in time, in words only -- */
let timer = 0, started = 0;
function tick() {
  const gone = (Date.now() - started) / 1000, now = [...Sheet.prompts].reverse().find(p => gone >= p.at), next = Sheet.prompts.find(p => p.at > gone);
  if ($("prompt").dataset.at !== String(now.at)) { $("prompt").dataset.at = String(now.at); $("prompttext").textContent = now.text; }
  $("clock").textContent = next ? `next in ${Math.ceil(next.at - gone)} s` : "done";
  if (!next) { clearInterval(timer); timer = 0; }
}
$("begin").addEventListener("click", () => { started = Date.now(); clearInterval(timer); timer = setInterval(tick, 1000); tick(); });
$("halt").addEventListener("click", () => { clearInterval(timer); timer = 0; $("clock").textContent = ""; $("prompttext").textContent = "Stopped."; });

/* -- the cells -- */
for (const group of Sheet.groups) {
  const set = make("fieldset"), grid = make("div", undefined, {class: "cells"});
  set.append(make("legend", group.title));
  for (const quality of group.qualities) {
    const row = make("div"), box = make("span"), id = "cell-" + quality.id, select = make("select", undefined, {id, "data-quality": quality.id}), when = make("select", undefined, {"data-when": quality.id, "aria-label": `${quality.label}: when`});
    STRENGTHS.forEach(([value, text]) => select.append(make("option", text, {value})));
    [["", "when?"], ...group.when.map(w => [w, w.replace("-", " ")])].forEach(([value, text]) => when.append(make("option", text, {value})));
    select.addEventListener("change", () => { const cells = draft.cells[at()] || (draft.cells[at()] = {}); if (select.value) cells[quality.id] = select.value; else delete cells[quality.id]; keep(); show(); });
    when.addEventListener("change", () => { const moments = draft.when[at()] || (draft.when[at()] = {}); if (when.value) moments[quality.id] = when.value; else delete moments[quality.id]; keep(); });
    box.append(select, " ", when);
    row.append(make("label", quality.label, {for: id}), box);
    grid.append(row);
  }
  set.append(grid);
  $("cells").append(set);
}
for (const [value, text] of Sheet.states) {
  const label = make("label"), box = make("input", undefined, {type: "checkbox", value, "data-state": value});
  box.addEventListener("change", () => { draft.states[taster] = [...document.querySelectorAll("[data-state]")].filter(b => b.checked).map(b => b.value); keep(); });
  label.append(box, text);
  $("states").append(label, " ");
}
$("ok").addEventListener("change", () => { draft.ok = $("ok").checked; keep(); show(); });
$("taster").addEventListener("change", () => { taster = $("taster").value; sample = (Sheet.orders[draft.tasters.indexOf(taster)] || [sample])[0]; show(); });
$("sample").addEventListener("change", () => { sample = +$("sample").value; show(); });
$("addtaster").addEventListener("click", () => {
  const name = $("newtaster").value.trim().slice(0, 40);
  if (!name || draft.tasters.includes(name)) { $("kept").textContent = name ? "This name stands already." : "Write a name or letter first."; return; }
  draft.tasters = [...draft.tasters, name];
  taster = name;
  $("newtaster").value = "";
  keep();
  show();
});
$("words").addEventListener("input", () => { draft.words[at()] = $("words").value; keep(); });
$("swallowed").addEventListener("change", () => { draft.swallowed[taster] = $("swallowed").value; keep(); });
$("finished").addEventListener("change", () => { draft.finished[at()] = $("finished").checked; keep(); show(); });
$("save").addEventListener("click", save);
$("reveal").addEventListener("click", () => {
  $("names").replaceChildren(...Sheet.samples.map(s => make("li", `${s.code}: ${s.name ? new TextDecoder().decode(Uint8Array.from(atob(s.name), c => c.charCodeAt(0))) : "no name was given to this sheet"}`)));
});
$("forget").addEventListener("click", () => { if ($("forget").dataset.sure) { try { localStorage.removeItem(KEY); } catch { /* nothing was kept */ } location.reload(); } else { $("forget").dataset.sure = "1"; $("forget").textContent = "Press again to empty this sheet"; } });
show();
