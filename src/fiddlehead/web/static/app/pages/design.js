// Material, finger, pad.

import { html, useSignal } from "../../vendor/preact.js";
import { Design, Remarks } from "../design.js";
import { Form } from "../fields.js";
import { Downloads, Drop, Pictures } from "../files.js";
import { Listed, Mapping } from "../mapping.js";
import { fileValueAt, resultAt, results, valueAt, write } from "../state.js";
import { Freshness, Run } from "../work.js";

const number = (value) => Number(value.toPrecision(4));

export function Material() {
  const from = valueAt(["material", "law_from"]);
  const dropped = useSignal(null);
  const card = results.value.card;
  const result = resultAt("material");
  const first = ["name", "law_from", "law", "cycle", "use_strain_percent", "density_g_per_cm3"];
  if (from === "constants") first.push("constants");
  if (from === "hardness") first.push("shore_a_hardness");
  return html`<div class="columns"><div>
    <${Form} table="material" only=${first} />
    ${from === "tests" ? html`<section aria-label="Test files"><h3>Tensile tests</h3><${Listed} table="material.tests" />
      <${Drop} drawer="tensile" label="Choose a test file" accept=".csv,.tsv,.txt" onFile=${(names) => (dropped.value = names)} />
      ${dropped.value ? html`<${Mapping} files=${dropped.value} table="material.tests" roles=${["strain", "extension", "stress", "force", "specimen"]}
        fixed=${["mode", "width_mm", "thickness_mm", "gauge_length_mm"]} onDone=${() => (dropped.value = null)} />` : null}</section>` : null}
    <${Run} verb="fit" label="Fit the material" />
  </div><div>
    ${card ? html`<section class="card" aria-label="Material card"><h3>${card.name}</h3><${Freshness} result=${result} />
      <dl class="measures"><div><dt>Law</dt><dd>${card.law.replaceAll("_", " ")}</dd></div>
      ${Object.entries(card.constants).map(([n, v]) => html`<div><dt>${n.replace("_mpa", "").replaceAll("_", " ")}</dt><dd>${number(v)}${n.endsWith("_mpa") ? " MPa" : ""}</dd></div>`)}
      <div><dt>Young’s modulus at rest</dt><dd>${number(card.youngs_modulus_mpa)} MPa</dd></div><div><dt>Bulk modulus</dt><dd>${number(card.bulk_modulus_mpa)} MPa</dd></div></dl>
      <p>${card.reason}</p>${card.warnings.map((w) => html`<p class="finding advice"><b>Mind.</b> ${w}</p>`)}</section>` : html`<p class="hint">The material card, with a plot of data and laws, appears here after the fit.</p>`}
    <${Pictures} place="material" /><${Downloads} place="material" />
    <${Remarks} sections=${["material"]} />
  </div></div>`;
}

export function Finger() {
  return html`<div class="columns"><div>
    <${Form} table="finger" only=${["bellows_count", "flank_angle_deg", "pitch_mm", "valley_gap_mm", "height_mm", "valley_height_mm", "wall_thickness_mm", "roof_thickness_mm", "base_thickness_mm", "side_wall_thickness_mm", "width_mm", "channel_width_mm"]} />
    <${Form} table="loads" />
    <${Form} table="print" only=${["line_width_mm", "layer_height_mm", "build_orientation"]} />
  </div><${Design} /></div>`;
}

const PAD = { rib_count: 4, cells: "solid" };
export function Pad() {
  const there = fileValueAt(["pad"]) !== undefined;
  return html`<div class="columns"><div>
    ${there ? html`<${Form} table="pad" /><p><button type="button" onClick=${() => write([{ path: ["pad"], value: null }])}>Take the pad off</button></p>`
      : html`<p>A bare finger grips with its base layer. A contact pad of ribs or cells, printed in one piece with it, spreads the contact pressure over unfired ware.</p>
        <p><button type="button" class="go" onClick=${() => write([{ path: ["pad"], value: PAD }])}>Add a pad</button></p>`}
  </div><${Design} /></div>`;
}
