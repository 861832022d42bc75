// Explore: a study as dots and table; each design can be looked at and taken into the project.

import { html, useEffect, useSignal } from "../../vendor/preact.js";
import { ask, tellShape } from "../api.js";
import { Chart } from "../chart.js";
import { complain, fileValueAt, has, project, resultAt, say, write } from "../state.js";
import { Viewer } from "../viewer.js";
import { Run } from "../work.js";
import { Forms, Told } from "./trials.js";

const BESIDE = ["number", "origin", "mesh", "status", "reason", "seconds", "key"]; // not of the design
const words = (name) => name.replaceAll("_", " ");
const short = (value) => (typeof value === "number" ? Number(value.toPrecision(4)) : value);

export function Explore() {
  const anew = useSignal(false);
  return html`<div class="stack"><${Forms} names=${["study"]} />
    <${Run} verb="explore" label="Explore designs" choices=${anew.value ? { anew: true } : {}}><label><input type="checkbox" checked=${anew.value} onChange=${(e) => (anew.value = e.target.checked)} /> forget earlier designs</label></${Run}>
    <${Run} verb="rank" label="Rank them again" /><${Designs} /><${Told} prefix="study" label="Study" tables=${false} />
    ${has("optimise") ? html`<h3>Search for the best</h3><${Run} verb="optimise" label="Search" /><${Told} prefix="optimise" label="Search" />` : null}
    ${has("tolerance") ? html`<h3>What printing scatter does</h3><${Run} verb="tolerance" label="Try the scatter" /><${Told} prefix="tolerance" label="Scatter" />` : null}</div>`;
}

// Every design of a study as a dot and as a row; the chosen one in space.
function Designs() {
  const found = resultAt("study");
  const table = useSignal(null);
  const x = useSignal("");
  const y = useSignal("");
  const picked = useSignal(null);
  useEffect(() => {
    picked.value = null;
    if (found) ask("table", { file: `results/${found.place}/ranking.csv` }).then((t) => (table.value = t), complain);
  }, [found?.written]);
  if (!table.value) return null;
  const { names, columns } = table.value;
  const told = names.filter((n) => !BESIDE.includes(n));
  const of = (n) => columns[names.indexOf(n)];
  const numeric = told.filter((n) => of(n).some((v) => typeof v === "number"));
  const xs = numeric.includes(x.value) ? x.value : numeric.at(-2) ?? numeric[0];
  const ys = numeric.includes(y.value) ? y.value : numeric.at(-1);
  const ids = of(xs).map((_, k) => k);
  const number = (k) => of("number")?.[k] ?? k + 1;
  const pick = (id) => (picked.value = id);
  const row = picked.value === null ? null : Object.fromEntries(told.map((n) => [n, of(n)[picked.value]]).filter(([, v]) => v !== null && v !== ""));
  return html`<section aria-label="Designs over results"><p class="controls"><label>Across <select value=${xs} onChange=${(e) => (x.value = e.target.value)}>${numeric.map((n) => html`<option value=${n}>${words(n)}</option>`)}</select></label>
    <label>Up <select value=${ys} onChange=${(e) => (y.value = e.target.value)}>${numeric.map((n) => html`<option value=${n}>${words(n)}</option>`)}</select></label></p>
    <${Chart} title="Designs" x=${words(xs)} y=${words(ys)} chosen=${picked.value} onPick=${pick} series=${[{ name: "designs", kind: "scatter", x: of(xs), y: of(ys), ids }]} />
    ${row ? html`<${Picked} key=${picked.value} row=${row} name=${`design ${number(picked.value)}`} />` : html`<p class="hint">Choose a dot, or a row by its number, to see that finger beside the project's own.</p>`}
    <div class="scroll" tabindex="0" role="region" aria-label="Table of designs"><table><thead><tr><th scope="col">design</th>${told.map((n) => html`<th scope="col">${words(n)}</th>`)}</tr></thead>
      <tbody>${ids.slice(0, 500).map((k) => html`<tr class=${picked.value === k ? "chosen" : ""}><td><button type="button" aria-pressed=${picked.value === k ? "true" : "false"} onClick=${() => pick(k)}>${number(k)}</button></td>${told.map((n) => html`<td class="number">${short(of(n)[k])}</td>`)}</tr>`)}</tbody></table></div></section>`;
}

// One design beside the project's own finger, on one scale, and the way to take it over.
function Picked({ row, name }) {
  const own = useSignal(null);
  const design = useSignal(null);
  useEffect(() => {
    tellShape("shape", { changes: [] }).then((shape) => (own.value = shape), complain);
    tellShape("design", { row }).then((shape) => (design.value = shape), complain);
  }, [project.value?.etag]);
  if (!design.value) return null;
  const { changes, findings, vertices } = design.value;
  const wrong = findings.filter((f) => f.kind === "mistake");
  const other = changes.filter(({ path, value }) => fileValueAt(path) !== value);
  const beside = own.value?.vertices ? [own.value, design.value] : [design.value];
  const take = async () => {
    if (await write(other)) say("done", `The project's finger is ${name} now; Undo on the page “File” goes back.`);
  };
  return html`<section aria-label=${`The finger of ${name}`}><h4>${name}</h4>
    ${vertices ? html`<${Viewer} shapes=${beside} names=${beside.length > 1 ? ["in the project", name] : []} label=${`The finger of ${name} at rest`} />` : null}
    ${wrong.map((f) => html`<p role="alert">${f.message}</p>`)}
    <p class="controls">${other.length ? html`<button type="button" class="go" disabled=${wrong.length > 0} onClick=${take}>Take ${name} into the project</button><span>${other.map(({ path, value }) => `${words(path.at(-1))} ${short(value)}`).join(", ")}</span>` : html`<span>This is the project's own finger.</span>`}</p></section>`;
}
