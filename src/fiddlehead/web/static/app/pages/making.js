// Print, bench, air, report, and the project file itself.

import { html, useEffect, useSignal } from "../../vendor/preact.js";
import { ask, fileAddress, tell } from "../api.js";
import { Chart } from "../chart.js";
import { Remarks } from "../design.js";
import { Form } from "../fields.js";
import { Downloads, Drop, Pictures } from "../files.js";
import { Listed, Mapping } from "../mapping.js";
import { complain, fileValueAt, has, project, resultAt, results, step, write } from "../state.js";
import { Freshness, Run } from "../work.js";
import { Scene, Tables } from "./trials.js";

function Made({ place, only = null, tables = null }) {
  const result = resultAt(place);
  if (!result) return null;
  return html`<section aria-label=${`Result: ${place}`}><${Freshness} result=${result} /><${Pictures} place=${place} only=${only} />${tables ? html`<${Tables} result=${result} only=${tables} />` : null}<${Downloads} place=${place} /></section>`;
}

export function Print() {
  const way = useSignal("");
  const sheet = useSignal(null);
  return html`<div class="stack">
    <details><summary>Printer, filament and print settings</summary><div class="columns even"><${Form} table="print" /><${Form} table="printer" /></div></details>
    <details><summary>Mount, inlet, serial number, base</summary><div class="columns even"><${Form} table="mount" /><${Form} table="base" /></div></details>
    <h3>Will it be tight, will it print?</h3>
    <${Run} verb="printcheck" label="Check every layer" choices=${way.value ? { orientation: way.value } : {}}><label>Lying <select value=${way.value} onChange=${(e) => (way.value = e.target.value)}><option value="">as in the project</option><option value="side">on its side</option><option value="upright">upright</option><option value="base_down">gripping face down</option></select></label></${Run}>
    ${resultAt("leak-map") ? html`<${Scene} place="leak-map" written=${resultAt("leak-map").written} label="Where it may leak" />` : null}
    <${Made} place="printcheck" tables=${["findings.csv"]} />
    <h3>Files for the printer</h3><${Run} verb="solid" label="Model the finger" /><${Made} place="solid" only=${["solid", "drawing"]} />
    <h3>Slicing settings</h3><${Run} verb="sheet" label="Write the sheet" choices=${{ quick: true }} /><${Made} place="sheet" only=${["slicing"]} />
    <h3>Base for the fingers</h3><${Run} verb="base" label="Model the base" choices=${{ quick: true }} /><${Made} place="base" only=${["base", "drawing"]} />
    <h3>Experiment: which settings are tight?</h3><details><summary>Design of the experiment</summary><${Form} table="experiment" /></details>
    <${Run} verb="experiment plan" label="Plan coupons" /><${Made} place="experiment-plan" />
    <${Drop} drawer="coupons" label="Choose a filled-in result sheet" accept=".csv" onFile=${(names) => (sheet.value = names[0])} />
    <${Run} verb="experiment analyse" label="Analyse the sheet" choices=${{ sheet: sheet.value ?? "coupons/result_sheet.csv" }} />
    <${Made} place="experiment" /><${Made} place="experiment-analysis" />
    <p class="caution">Hot nozzles and plates burn; printing elastomers gives off vapours. Follow the printer’s and the filament’s own instructions.</p></div>`;
}

export function Bench() {
  const dropped = useSignal(null);
  const photos = useSignal([]);
  return html`<div class="stack">
    <h3>Test sheets and forms</h3><${Run} verb="protocol" label="Write the test sheets" /><${Made} place="protocols" />
    <h3>Measurements</h3><${Listed} table="bench.records" />
    <${Drop} drawer="bench" label="Choose a measured file" accept=".csv,.tsv,.txt,.xlsx" onFile=${(names) => (dropped.value = names)} />
    ${dropped.value ? html`<${Mapping} files=${dropped.value} table="bench.records" roles=${["time", "pressure", "force", "angle", "temperature", "deflection", "twist", "cycles", "failed", "picked", "damaged", "finger", "repeat"]} fixed=${["test", "finger", "angle_definition", "pressure_kind"]} onDone=${() => (dropped.value = null)} />` : null}
    <h3>Photos</h3><${Listed} table="bench.photos" />
    <${Drop} drawer="photos" label="Choose photos" accept=".jpg,.jpeg,.png" onFile=${(names) => (photos.value = names)} />
    ${photos.value.length ? html`<div class="pictures">${photos.value.map((f) => html`<figure class="paper"><img src=${fileAddress(f)} alt=${f} /></figure>`)}</div><p><button type="button" class="go" onClick=${async () => {
      const before = fileValueAt(["bench", "photos"]) ?? [];
      if (await write([{ path: ["bench", "photos", before.length], value: { files: photos.value } }])) photos.value = [];
    }}>Add these photos to the project</button></p>` : null}
    <details><summary>Limits of the comparison</summary><${Form} table="bench" /></details>
    <h3>Reduce, compare, calibrate</h3>
    <${Run} verb="measure" label="Reduce the measurements" /><${Made} place="measured" />
    <${Run} verb="compare" label="Compare with the prediction" /><${Made} place="compared" tables=${["verdicts.csv"]} />
    <${Run} verb="calibrate" label="Calibrate" choices=${{ mesh: "preview" }} /><${Made} place="calibrated" tables=${["unknowns.csv"]} />
    <p class="caution">Compressed air: stand behind a screen, wear eye protection, have a relief valve and a regulator you can shut off; never exceed the proof pressure (ISO 4414; local codes and licensed practice come first).</p></div>`;
}

export function Air() {
  const fill = useSignal(null);
  const result = resultAt("air");
  const rigid = useSignal(false);
  useEffect(() => {
    if (result) Promise.all(["fill", "vent"].map((n) => ask("table", { file: `results/air/${n}.csv` }))).then((t) => (fill.value = t), complain);
  }, [result?.written]);
  const column = (t, pattern) => t.columns[t.names.findIndex((n) => pattern.test(n))] ?? [];
  return html`<div class="columns"><div><${Form} table="air" only=${["fingers", "valves", "supply_pressure_kpa", "fill_valve_dm3_per_s_bar", "tube_bore_mm", "tube_length_m", "cycles_per_min", "hold_s", "leak_cm3_per_min"]} />
    <${Run} verb="air" label="Size the air supply" choices=${rigid.value ? { rigid: true } : {}}><label><input type="checkbox" checked=${rigid.value} onChange=${(e) => (rigid.value = e.target.checked)} /> rough, without bending</label></${Run}></div>
    <div>${fill.value ? html`<${Chart} title="Filling and venting" x="Time, s" y="Gauge pressure, kPa" series=${fill.value.map((t, k) => ({ name: k ? "vent" : "fill", x: column(t, /time|_s$/), y: column(t, /kpa/) }))} />` : html`<p class="hint">Fill and vent times, pump and reservoir appear here.</p>`}
    <${Made} place="air" /><p class="caution">The energy stored in hoses and reservoirs is the greater danger. Follow ISO 4414 and the codes that apply where you work.</p></div></div>`;
}

export function Report() {
  const show = ["report", "package", "handover"].filter((p) => resultAt(p));
  return html`<div class="stack">
    ${has("report") ? html`<h3>The report</h3><p>Job, design, material, curves, pictures, print sheet, air supply, comparison, cautions and where every number came from: in one file, with the parts that exist.</p><${Run} verb="report" label="Write the report" />` : null}
    <h3>Handover sheet</h3><${Run} verb="handover" label="Write the handover sheet" />
    ${resultAt("report")?.files.includes("report.html") ? html`<iframe class="report" title="The report" sandbox="" src=${`${fileAddress("results/report/report.html")}?${resultAt("report").written}`}></iframe>` : null}
    ${show.map((p) => html`<${Made} place=${p} />`)}
    ${results.value.results.length ? html`<h3>Everything</h3><p><a class="button" href="/zip/" download>All results as one ZIP</a></p>` : null}</div>`;
}

export function File() {
  const { undo, redo, text } = project.value;
  return html`<div class="stack"><p class="controls"><button type="button" disabled=${!undo} onClick=${() => step("undo")}>Undo</button><button type="button" disabled=${!redo} onClick=${() => step("redo")}>Redo</button><a class="button" href=${fileAddress("fiddlehead.toml", true)} download>Save a copy</a></p>
    <p class="hint">This is the file itself. Change it in an editor as you like: what you save there appears here at once, and can be undone here.</p>
    <div class="columns"><pre class="source" tabindex="0" role="region" aria-label="fiddlehead.toml">${text}</pre><${Remarks} sections=${null} /></div></div>`;
}

export function Start() {
  const begin = (way) => tell("begin", { way }).then((told) => (project.value = told), complain);
  return html`<div class="start"><h2>An empty desk</h2><p>This folder holds no project yet. Begin with your own finger, or look around in the example: a pottery studio that must lift unfired bowls without a dent. Its material, tests and measurements are invented.</p>
    <p class="controls"><button type="button" class="go" onClick=${() => begin("new")}>Begin a project</button><button type="button" onClick=${() => begin("example")}>Open the example</button></p></div>`;
}
