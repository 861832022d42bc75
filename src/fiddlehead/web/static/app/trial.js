// A saved trial: finger in space, slider through its real steps, plots that follow, sentences, files.

import { html, useComputed, useEffect, useSignal } from "../vendor/preact.js";
import { ask, askShape, tell } from "./api.js";
import { Chart, Numbers } from "./chart.js";
import { Downloads } from "./files.js";
import { complain, resultAt, results, say } from "./state.js";
import { Viewer } from "./viewer.js";
import { Freshness } from "./work.js";

const column = (table, name) => table?.columns[table.names.indexOf(name)] ?? [];

// plots: [{title, y, lines: [[column, name]], x?, xName?, limits?}]
export function Trial({ place, file, plots, label, sub = "", under = false }) {
  const result = resultAt(place);
  const scene = sub ? `${place}/${sub}` : place;
  const shapes = useSignal([]);
  const names = useSignal([]);
  const table = useSignal(null);
  const told = useSignal(null);
  const other = useSignal("");
  const step = useSignal(0);
  const fresh = useSignal(true);
  const kept = results.value.results.flatMap((r) => r.scenes.filter((s) => r.place.startsWith("kept/") && s.split("/").slice(2).join("/") === scene).map((s) => s));
  useEffect(() => {
    if (!result) return;
    const both = [scene, other.value].filter(Boolean);
    Promise.all(both.map((p) => askShape("scene", { place: p }))).then((found) => {
      shapes.value = found;
      names.value = both.map((p) => (p.startsWith("kept/") ? p.split("/")[1] : "now"));
      if (fresh.value) step.value = found[0].steps.length - 1;
      fresh.value = false;
    }, complain);
    Promise.all(both.map((p) => ask("table", { file: `results/${p}/${file}` }))).then((found) => (table.value = found), complain);
    ask("summary", { place }).then((found) => (told.value = found), () => (told.value = null));
  }, [result?.written, other.value, scene]);
  const first = table.value?.[0];
  const at = useComputed(() => {
    const pressure = column(table.value?.[0], "pressure_kpa");
    const low = Math.min(Math.floor(step.value), pressure.length - 1);
    const high = Math.min(low + 1, pressure.length - 1);
    return pressure.length ? pressure[low] + (step.value - low) * (pressure[high] - pressure[low]) : null;
  });
  if (!result) return null;
  return html`<section class="trial" aria-label=${label}>
    <${Freshness} result=${result} />
    ${told.value ? html`<div class="summary">${told.value.sentences.map((s) => html`<p>${s}</p>`)}${told.value.warnings.map((s) => html`<p class="finding advice"><b>Mind.</b> ${s}</p>`)}</div>` : null}
    ${shapes.value.length ? html`<${Viewer} shapes=${shapes.value} names=${names.value} label=${label} step=${step} tall=${true} under=${under} />` : null}
    <div class="charts">${first ? plots.map((p) => html`<${Chart} title=${p.title} x=${p.xName ?? "Gauge pressure, kPa"} y=${p.y} mark=${p.x ? null : at} limits=${p.limits ?? []}
      series=${table.value.flatMap((t, k) => p.lines.filter(([c]) => t.names.includes(c)).map(([c, n]) => ({ name: names.value.length > 1 ? `${n} (${names.value[k]})` : n, x: column(t, p.x ?? "pressure_kpa"), y: column(t, c) })))} />`) : null}</div>
    <div class="controls variants">
      <${Keep} place=${place} />
      ${kept.length ? html`<label>Compare with <select aria-label="Compare with" value=${other.value} onChange=${(e) => (other.value = e.target.value)}><option value="">nothing</option>${kept.map((k) => html`<option value=${k}>${k.split("/")[1]}</option>`)}</select></label>` : null}
    </div>
    <details><summary>Numbers</summary><${Numbers} table=${first} caption=${`${label}, step by step`} limit=${200} /></details>
    <${Downloads} place=${place} />
  </section>`;
}

function Keep({ place }) {
  const name = useSignal("");
  const keep = async () => {
    try {
      results.value = await tell("keep", { place, name: name.value });
      say("done", `Kept as “${name.value}”; choose it beside “Compare with”.`);
      name.value = "";
    } catch (error) {
      complain(error);
    }
  };
  return html`<span><label>Keep this as <input type="text" class="short" value=${name.value} onInput=${(e) => (name.value = e.target.value)} /></label> <button type="button" disabled=${!name.value.trim()} onClick=${keep}>Keep</button></span>`;
}
