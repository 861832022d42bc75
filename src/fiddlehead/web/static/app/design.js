// What stands beside the forms of finger and pad: section, sizes, and the finger in space, live.

import { html, useEffect, useMemo } from "../vendor/preact.js";
import { Finding } from "./fields.js";
import { Section } from "./section.js";
import { findings, project, tried, tryDraft } from "./state.js";
import { Viewer } from "./viewer.js";

const KEY = "design";

export function Design() {
  const { section, measures, stale, shape } = tried.value;
  const shapes = useMemo(() => (shape ? [shape] : []), [shape]);
  useEffect(() => {
    tryDraft();
  }, [project.value?.etag]);
  return html`<div class="design" key=${KEY}>
    <${Section} section=${section} stale=${stale} />
    ${measures ? html`<dl class="measures">
      <div><dt>Length</dt><dd>${measures.length_mm.toFixed(1)} mm</dd></div>
      <div><dt>Mass</dt><dd>${measures.mass_g.toFixed(1)} g</dd></div>
      <div><dt>Material</dt><dd>${measures.material_volume_cm3.toFixed(2)} cm³</dd></div>
      <div><dt>Air inside</dt><dd>${measures.cavity_volume_cm3.toFixed(2)} cm³</dd></div></dl>` : null}
    <${Viewer} shapes=${shapes} label="The finger at rest" keepCamera=${true} />
    <${Remarks} sections=${["finger", "pad", "print", "mount"]} />
  </div>`;
}

export function Remarks({ sections }) {
  const told = findings.value.filter((f) => !sections || sections.includes(f.field.split(/[.[]/)[0]));
  if (!project.value?.exists) return null;
  return html`<section class="remarks" aria-label="What the check says"><h3>The check says</h3>
    ${told.length ? told.map((f) => html`<div><small>${f.field}${f.line ? `, line ${f.line}` : ""}</small><${Finding} finding=${f} /></div>`) : html`<p>Nothing is wrong or unwise here.</p>`}</section>`;
}
