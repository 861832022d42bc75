// Uploaded tables: a look at the first rows, and which column is what.

import { html, useEffect, useSignal } from "../vendor/preact.js";
import { ask } from "./api.js";
import { boot, complain, project, write } from "./state.js";

const WORDS = { percent: /%|percent/i, bar: /\bbar\b/i, psi: /psi/i, kPa: /kpa/i, mbar: /mbar/i, MPa: /mpa/i, N: /\[n\]|_n\b|\(n\)/i, gf: /gf/i, rad: /\brad\b/i, stretch: /stretch/i };

// table: "material.tests" or "bench.records"; roles: quantities that may have a column
export function Mapping({ files, table, roles, fixed, onDone }) {
  const seen = useSignal(null);
  const chosen = useSignal({});
  const units = useSignal({});
  const more = useSignal({});
  const fields = Object.fromEntries(boot.value.forms[table].entries.map((f) => [f.name, f]));
  useEffect(() => {
    ask("preview", { file: files[0] }).then((told) => {
      seen.value = told;
      const guess = {};
      const unit = {};
      for (const [column, role] of Object.entries(told.guesses))
        if (roles.includes(role) && !(role in guess)) {
          guess[role] = column;
          const at = told.columns.indexOf(column);
          const hint = `${column} ${told.rows[0]?.[at] ?? ""}`;
          const offered = fields[`${role}_unit`]?.choices ?? [];
          const found = offered.find((u) => WORDS[u]?.test(hint));
          if (found) unit[role] = found;
        }
      chosen.value = guess;
      units.value = unit;
    }, complain);
  }, [files[0]]);
  if (!seen.value) return null;
  const place = table.split(".");
  const save = async () => {
    const entry = { files, ...more.value };
    for (const [role, column] of Object.entries(chosen.value)) {
      if (!column) continue;
      entry[`${role}_column`] = column;
      if (units.value[role]) entry[`${role}_unit`] = units.value[role];
    }
    if (seen.value.decimal === ",") entry.decimal = ",";
    if (seen.value.delimiter && seen.value.delimiter !== "comma") entry.delimiter = seen.value.delimiter;
    const before = place.reduce((at, key) => at?.[key], project.value.entries) ?? [];
    if (await write([{ path: [...place, before.length], value: entry }])) onDone();
  };
  const choice = (field, label) => html`<label>${label} <select aria-label=${label} value=${more.value[field.name] ?? ""} onChange=${(e) => (more.value = { ...more.value, [field.name]: e.target.value || undefined })}>
    ${field.required ? html`<option value="">choose</option>` : html`<option value="">${field.default ?? "(left out)"}</option>`}${field.choices.map((c) => html`<option value=${c}>${c}</option>`)}</select></label>`;
  const number = (field) => html`<label>${field.label} <input class="number short" inputmode="decimal" onInput=${(e) => (more.value = { ...more.value, [field.name]: e.target.value === "" ? undefined : Number(e.target.value.replace(",", ".")) })} /> ${field.unit}</label>`;
  const text = (field) => html`<label>${field.label} <input type="text" placeholder=${field.default ?? ""} onInput=${(e) => (more.value = { ...more.value, [field.name]: e.target.value || undefined })} /></label>`;
  return html`<section class="mapping" aria-label=${`Columns of ${files[0]}`}>
    <h3>What is what in ${files[0]}${files.length > 1 ? ` and ${files.length - 1} more` : ""}?</h3>
    <p class="hint">Separated by ${seen.value.delimiter || "cells of a workbook"}, decimal mark ${seen.value.decimal}. The first rows:</p>
    <div class="scroll" tabindex="0" role="region" aria-label="First rows"><table><thead><tr>${seen.value.columns.map((c) => html`<th scope="col">${c}</th>`)}</tr></thead>
      <tbody>${seen.value.rows.slice(0, 5).map((r) => html`<tr>${r.map((c) => html`<td>${c}</td>`)}</tr>`)}</tbody></table></div>
    <div class="roles">${roles.filter((r) => fields[`${r}_column`]).map((role) => html`<span><label>${role} <select aria-label=${`Column with ${role}`} value=${chosen.value[role] ?? ""} onChange=${(e) => (chosen.value = { ...chosen.value, [role]: e.target.value })}>
      <option value="">no column</option>${seen.value.columns.map((c) => html`<option value=${c}>${c}</option>`)}</select></label>
      ${chosen.value[role] && fields[`${role}_unit`] ? html`<label>in <select aria-label=${`Unit of ${role}`} value=${units.value[role] ?? fields[`${role}_unit`].default} onChange=${(e) => (units.value = { ...units.value, [role]: e.target.value })}>${fields[`${role}_unit`].choices.map((u) => html`<option value=${u}>${u}</option>`)}</select></label>` : null}</span>`)}</div>
    <div class="roles">${fixed.map((name) => { const f = fields[name]; return f.choices.length ? choice(f, f.label) : f.kind.endsWith("number") || name.endsWith("_mm") ? number(f) : text(f); })}</div>
    <p class="controls"><button type="button" class="go" onClick=${save}>Add to the project</button> <button type="button" onClick=${onDone}>Not now</button></p>
  </section>`;
}

// What the project lists already, each with a button to take it off.
export function Listed({ table }) {
  const place = table.split(".");
  const listed = place.reduce((at, key) => at?.[key], project.value.entries) ?? [];
  if (!listed.length) return html`<p class="hint">No files yet.</p>`;
  return html`<ul class="listed">${listed.map((entry, k) => html`<li><span><b>${(entry.files ?? [entry.file ?? entry.finger]).join(", ")}</b> <small>${Object.entries(entry).filter(([n]) => n !== "files").map(([n, v]) => `${n.replaceAll("_", " ")}: ${v}`).join("; ")}</small></span>
    <button type="button" aria-label=${`Take ${(entry.files ?? ["this"])[0]} off the list`} onClick=${() => write([{ path: [...place, k], value: null }])}>Take off</button></li>`)}</ul>`;
}
