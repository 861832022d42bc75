// One entry of the project file: label, value, unit, range, default and its reason, and what is wrong.

import { html, useSignal } from "../vendor/preact.js";
import { boot, commit, draft, edit, findingsAt, keyOf, valueAt } from "./state.js";

let count = 0;
const useId = () => useSignal(`f${++count}`).value;

const shown = (value) =>
  value == null ? "" : Array.isArray(value) ? value.map(shown).join(", ") : typeof value === "object" ? JSON.stringify(value) : String(value);

function parsed(text, field) {
  const trimmed = text.trim();
  if (trimmed === "" && !(field.kind === "text" && typeof field.default === "string")) return null;
  if (field.kind === "a number" || field.kind === "a whole number") {
    const number = Number(trimmed.replace(",", "."));
    return Number.isFinite(number) ? number : trimmed;
  }
  if (field.kind === "a list")
    return trimmed.split(",").map((part) => {
      const word = part.trim();
      return word !== "" && Number.isFinite(Number(word)) ? Number(word) : word;
    });
  return text;
}

export function Field({ path, field }) {
  const id = useId();
  const typing = useSignal(null);
  const value = valueAt(path);
  const open = useSignal(false);
  const told = findingsAt(path);
  const wrong = told.some((f) => f.kind === "mistake");
  const unsaved = draft.value.has(keyOf(path));
  const change = (next, now) => {
    edit(path, next);
    if (now) commit();
  };
  const described = `${id}-range${told.length ? ` ${id}-told` : ""}`;
  const common = { id, "aria-describedby": described, "aria-invalid": wrong ? "true" : "false" };
  const effective = value ?? field.default;
  let control;
  if (field.choices.length && field.kind === "text")
    control = html`<select ...${common} value=${effective ?? ""} onChange=${(e) => change(e.target.value || null, true)}>
      ${field.default == null && !field.required ? html`<option value="">(left out)</option>` : null}
      ${effective != null && !field.choices.includes(String(effective)) ? html`<option value=${effective}>${effective}</option>` : null}
      ${field.choices.map((word) => html`<option value=${word} selected=${word === effective}>${word.replaceAll("_", " ")}</option>`)}
    </select>`;
  else if (field.kind === "true or false")
    control = html`<input type="checkbox" ...${common} checked=${Boolean(effective)} onChange=${(e) => change(e.target.checked, true)} />`;
  else {
    const number = field.kind.endsWith("number");
    control = html`<input type="text" ...${common} class=${number ? "number" : ""} inputmode=${number ? "decimal" : "text"}
      autocomplete="off" spellcheck=${false} placeholder=${shown(field.default)}
      value=${typing.value ?? shown(value)}
      onInput=${(e) => { typing.value = e.target.value; change(parsed(e.target.value, field)); }}
      onBlur=${() => { typing.value = null; commit(); }}
      onKeyDown=${(e) => {
        if (e.key === "Enter") { typing.value = null; commit(); }
        if (number && (e.key === "ArrowUp" || e.key === "ArrowDown") && typeof effective === "number") {
          e.preventDefault();
          typing.value = null;
          change(stepped(effective, e.key === "ArrowUp" ? 1 : -1, field));
        }
      }} />`;
  }
  const standing = value === undefined || value === null
    ? field.default == null ? (field.required ? "must be given" : "left out") : `default; ${field.standing}`
    : field.default == null ? "yours" : shown(value) === shown(field.default) ? `as the default; ${field.standing}` : `yours; default ${shown(field.default)}${field.unit ? ` ${field.unit}` : ""}`;
  return html`<div class=${`field${wrong ? " wrong" : ""}${unsaved ? " unsaved" : ""}`}>
    <label for=${id}>${field.label}</label>
    <span class="entry">${control}<span class="unit">${field.unit}</span>
      <button type="button" class="why" aria-expanded=${open.value ? "true" : "false"} aria-controls=${`${id}-why`}
        aria-label=${`About ${field.label}`} onClick=${() => (open.value = !open.value)}>?</button></span>
    <small id=${`${id}-range`}>${field.choices.length || ["text", "not empty", "true or false"].includes(field.allowed) ? "" : field.allowed}${field.usual ? `, usual ${field.usual[0]} to ${field.usual[1]}` : ""}</small>
    <div id=${`${id}-why`} class="reason" hidden=${!open.value}>${field.says} <em>${standing}${field.usual ? `; usual range: ${field.usual_standing}` : ""}</em></div>
    ${told.length ? html`<div id=${`${id}-told`} class="told" role=${wrong ? "alert" : "status"}>${told.map((f) => html`<${Finding} finding=${f} />`)}</div>` : null}
  </div>`;
}

function stepped(value, direction, field) {
  const size = field.kind === "a whole number" ? 1 : value >= 100 ? 5 : value >= 10 ? 0.5 : 0.1;
  const next = Number((value + direction * size).toFixed(6));
  return Math.min(field.high ?? Infinity, Math.max(field.low ?? -Infinity, next));
}

export function Finding({ finding }) {
  const mark = { mistake: "Mistake", question: "Question", advice: "Advice" }[finding.kind];
  return html`<p class=${`finding ${finding.kind}`}><b>${mark}.</b> ${finding.message}${finding.found ? ` (found ${finding.found}${finding.allowed ? `; allowed ${finding.allowed}` : ""})` : ""}${/[.!?]$/.test(finding.message) ? "" : "."} ${finding.remedy}${finding.standing ? html` <em>${finding.standing}</em>` : null}</p>`;
}

// A table of names and values, one in a line, such as constants of a law or ranges of a study.
export function TableField({ path, field }) {
  const id = useId();
  const text = useSignal(null);
  const wrong = useSignal("");
  const told = findingsAt(path);
  const now = valueAt(path) ?? {};
  const value = (v) => (Array.isArray(v) ? `[${v.map(value).join(", ")}]` : typeof v === "string" ? JSON.stringify(v) : String(v));
  const save = async () => {
    if (text.value === null) return;
    const found = {};
    for (const line of text.value.split("\n").filter((l) => l.trim())) {
      const [, name, rest] = line.match(/^\s*([A-Za-z0-9_]+)\s*=\s*(.+?)\s*$/) ?? [];
      try {
        found[name] = JSON.parse(rest);
      } catch {
        wrong.value = `“${line.trim()}” is not of the form name = value`;
        return;
      }
    }
    wrong.value = "";
    edit(path, Object.keys(found).length ? found : null);
    await commit();
    text.value = null;
  };
  return html`<div class=${`field${wrong.value || told.some((f) => f.kind === "mistake") ? " wrong" : ""}`}><label for=${id}>${field.label}</label>
    <textarea id=${id} rows="3" spellcheck=${false} aria-describedby=${`${id}-says`} value=${text.value ?? Object.entries(now).map(([n, v]) => `${n} = ${value(v)}`).join("\n")}
      onInput=${(e) => (text.value = e.target.value)} onBlur=${save}></textarea>
    <small id=${`${id}-says`}>${field.says} One in a line${field.example ? `, such as ${field.example.replace(/^# /, "")}` : ""}.</small>
    ${wrong.value ? html`<p class="finding mistake" role="alert">${wrong.value}</p>` : null}${told.map((f) => html`<${Finding} finding=${f} />`)}</div>`;
}

// All entries of a table, or the named ones; the rest can be unfolded.
export function Form({ table, path = table.split("."), only = null, legend = null }) {
  const form = boot.value.forms[table];
  if (!form) return null;
  const plain = form.entries.filter((f) => !(f.kind === "a list" && f.allowed === "tables") && (f.kind !== "a table" || f.open));
  const first = only ? only.map((name) => plain.find((f) => f.name === name)).filter(Boolean) : plain;
  const rest = plain.filter((f) => !first.includes(f));
  const each = (f) => html`<${f.kind === "a table" ? TableField : Field} key=${keyOf([...path, f.name])} path=${[...path, f.name]} field=${f} />`;
  return html`<fieldset class="form"><legend>${legend ?? form.says}</legend>
    ${first.map(each)}
    ${rest.length ? html`<details class="more"><summary>${rest.length} more entries</summary>${rest.map(each)}</details>` : null}
  </fieldset>`;
}

