// Bend, press, grasp.

import { html, useEffect, useSignal } from "../../vendor/preact.js";
import { ask, askShape } from "../api.js";
import { Numbers } from "../chart.js";
import { Form } from "../fields.js";
import { Downloads, Drop, Pictures } from "../files.js";
import { ObjectView } from "../object.js";
import { boot, complain, has, resultAt, results, valueAt } from "../state.js";
import { Trial } from "../trial.js";
import { Viewer } from "../viewer.js";
import { Freshness, Run } from "../work.js";

function MeshChoice({ choice }) {
  return html`<label>Mesh <select aria-label="Mesh" value=${choice.value} onChange=${(e) => (choice.value = e.target.value)}><option value="">as in the project</option><option value="preview">preview (quickest)</option><option value="standard">standard</option><option value="fine">fine (slow)</option></select></label>`;
}
const chosen = (mesh) => (mesh.value ? { mesh: mesh.value } : {});

export function Bend() {
  const mesh = useSignal("");
  const preset = useSignal("");
  const limit = valueAt(["loads", "strain_limit_percent"]) ?? 30;
  const across = valueAt(["loads", "strain_limit_across_layers_percent"]) ?? 20;
  const presets = [...new Set((resultAt("block")?.scenes ?? []).map((s) => s.split("/").pop()))];
  const sub = presets.includes(preset.value) ? preset.value : presets[0] ?? "";
  return html`<div class="stack">
    <details><summary>Pressure, strain limits, tests and mesh</summary><div class="columns even"><${Form} table="loads" /><div><${Form} table="tests.bend" /><${Form} table="tests.block" /><${Form} table="mesh" only=${["preset"]} /></div></div></details>
    <p class="controls"><${MeshChoice} choice=${mesh} /></p>
    <h3>Free bending</h3>
    <${Run} verb="bend" label="Bend the finger" choices=${chosen(mesh)} />
    <${Trial} place="bend" file="bend.csv" label="Free bending" plots=${[
      { title: "Bending angle", y: "Angle, °", lines: [["tip_angle_deg", "tip tangent"], ["chord_angle_deg", "chord"]] },
      { title: "Strain", y: "Log strain, %", lines: [["log_strain_in_layer_plane_percent", "in the layers"], ["log_strain_across_layers_percent", "across the layers"]], limits: [{ name: `limit ${limit} %`, y: limit }, { name: `limit across ${across} %`, y: across }] },
      { title: "Path of the tip", x: "tip_x_mm", xName: "x, mm", y: "y, mm", lines: [["tip_y_mm", "tip"]] },
      { title: "Air inside", y: "Volume, mm³", lines: [["cavity_volume_mm3", "cavity"]] },
    ]} />
    <h3>Blocked force</h3>
    <${Run} verb="block" label="Press on a plate" choices=${chosen(mesh)}>${presets.length > 1 ? html`<label>Show <select value=${sub} onChange=${(e) => (preset.value = e.target.value)}>${presets.map((p) => html`<option value=${p}>${p.replace("preset_", "preset ").replace("_deg", "°")}</option>`)}</select></label>` : null}</${Run}>
    ${sub ? html`<${Trial} key=${sub} place="block" sub=${sub} file="block.csv" label="Blocked force" plots=${[
      { title: "Blocked force", y: "Force, N", lines: [["force_n", "predicted"], ["hand_bound_n", "hand bound"]] },
      { title: "Strain", y: "Log strain, %", lines: [["largest_log_strain_percent", "largest"], ["log_strain_95th_percentile_percent", "95th percentile"]] },
    ]} />` : null}
    <h3>Lateral stiffness</h3>
    <${Run} verb="lateral" label="Push from the side" choices=${chosen(mesh)} />
    <${Trial} place="lateral" file="lateral.csv" label="Lateral stiffness" plots=${[
      { title: "Lateral stiffness", y: "Stiffness, N/mm", lines: [["stiffness_n_per_mm", "at the tip"]] },
      { title: "Twist under 1 N", y: "Twist, °/N", lines: [["twist_deg_per_n", "tip face"]] },
    ]} />
    <p class="caution">Compressed air: first inflation behind a screen, with eye protection, a relief valve and a regulator you can shut off. A predicted pressure is no permission; local codes and licensed practice come first (ISO 4414).</p>
  </div>`;
}

// Results of a verb as its tables and pictures tell them, with a scene for each that has one.
export function Told({ prefix, label, tables = true, scenes = true }) {
  const found = results.value.results.filter((r) => r.place === prefix || (!r.place.includes("/") && r.place.startsWith(`${prefix}-`)) || r.kind === prefix);
  return html`${found.filter((r) => !r.place.startsWith("kept/")).map((r) => html`<section key=${r.place} aria-label=${`${label}: ${r.place}`}>${found.length > 1 ? html`<h4>${r.place}</h4>` : null}
    <${Freshness} result=${r} />${(scenes ? r.scenes.slice(0, 4) : []).map((s) => html`<${Scene} key=${s} place=${s} written=${r.written} label=${`${label} ${s}`} />`)}
    ${tables ? html`<${Tables} result=${r} />` : null}<${Pictures} place=${r.place} /><${Downloads} place=${r.place} /></section>`)}`;
}

export function Scene({ place, written, label }) {
  const shapes = useSignal([]);
  useEffect(() => {
    askShape("scene", { place }).then((s) => (shapes.value = [s]), complain);
  }, [place, written]);
  return shapes.value.length ? html`<${Viewer} shapes=${shapes.value} label=${label} tall=${true} />` : null;
}

export function Tables({ result, only = null }) {
  const files = result.files.filter((f) => f.endsWith(".csv") && !f.includes("/") && f !== "regions.csv" && (!only || only.includes(f)));
  const tables = useSignal({});
  useEffect(() => {
    Promise.all(files.slice(0, 6).map((f) => ask("table", { file: `results/${result.place}/${f}` }).then((t) => [f, t]))).then((t) => (tables.value = Object.fromEntries(t)), complain);
  }, [result.written]);
  return html`${Object.entries(tables.value).map(([name, t]) => html`<${Numbers} table=${t} caption=${name.replace(".csv", "").replaceAll("_", " ")} limit=${50} />`)}`;
}

export function Press() {
  const mesh = useSignal("");
  const object = useSignal("");
  const objects = (resultAt("press")?.scenes ?? []).map((s) => s.split("/").slice(1).join("/"));
  const shown = objects.includes(object.value) ? object.value : objects[0];
  const words = (name) => name.replaceAll("_", " ");
  return html`<div class="stack"><${Forms} names=${["tests.press"]} /><p class="controls"><${MeshChoice} choice=${mesh} /></p>
    <${Run} verb="press" label="Press on the objects" choices=${chosen(mesh)}>${objects.length > 1 ? html`<label>Show <select aria-label="Show" value=${shown} onChange=${(e) => (object.value = e.target.value)}>${objects.map((o) => html`<option value=${o}>${words(o)}</option>`)}</select></label>` : null}</${Run}>
    ${shown ? html`<${Trial} key=${shown} place="press" sub=${shown} file="press.csv" under=${true} label=${`Pressing on ${words(shown)}`} plots=${[
      { title: "Grip force", y: "Force, N", lines: [["grip_force_n", "on the object"]] },
      { title: "Contact pressure", y: "kPa", lines: [["contact_pressure_peak_kpa", "peak"], ["contact_pressure_95th_percentile_kpa", "95th percentile"], ["contact_pressure_mean_kpa", "mean"]] },
      { title: "Contact area", y: "mm²", lines: [["contact_area_mm2", "area"]] },
      { title: "Strain", y: "Log strain, %", lines: [["largest_log_strain_percent", "largest"]] },
    ]} />` : null}
    <${Pictures} place="press" />
    ${has("pads") ? html`<h3>Pads compared at equal grip force</h3><${Run} verb="pads" label="Compare pads" choices=${{ quick: true }} /><${Told} prefix="pads" label="Pads" scenes=${false} />` : null}</div>`;
}

export function Grasp() {
  const mesh = useSignal("");
  const quick = useSignal(true);
  return html`<div class="stack"><${Forms} names=${["grasp"]} />
    <h3>Objects</h3><${Uploaded} />
    <p class="controls"><${MeshChoice} choice=${mesh} /><label><input type="checkbox" checked=${quick.value} onChange=${(e) => (quick.value = e.target.checked)} /> only the fast estimate</label></p>
    <${Run} verb="grasp" label="Grasp" tell=${true} choices=${{ ...chosen(mesh), ...(quick.value ? { quick: true } : {}) }} /><${Told} prefix="grasp" label="Grasp" />
    ${has("grasp-table") ? html`<h3>All objects</h3><${Run} verb="grasp-table" label="Fill the table" /><${Told} prefix="grasp-table" label="Grasp table" />` : null}</div>`;
}

export function Forms({ names }) {
  const there = names.filter((n) => boot.value.forms[n] && !boot.value.forms[n].repeated);
  return there.length ? html`<details open><summary>What is asked</summary><div class="columns even">${there.map((n) => html`<${Form} table=${n} />`)}</div></details>` : null;
}

export function Uploaded() {
  const seen = useSignal(null);
  return html`<section aria-label="Objects"><${Drop} drawer="objects" label="Choose an object (STL)" accept=".stl" onFile=${(names) => (seen.value = names.at(-1))} />
    ${seen.value ? html`<${ObjectView} file=${seen.value} />` : null}</section>`;
}
