// Starting work, and seeing how it goes.

import { html, useSignal } from "../vendor/preact.js";
import { has, jobOf, jobs, resultAt, results, start, stop } from "./state.js";

const STATES = { waiting: "waits", running: "runs", done: "done", stopped: "stopped early", cancelled: "cancelled", failed: "did not work", lost: "was cut off" };
const clock = (s) => (s < 60 ? `${Math.round(s)} s` : `${Math.floor(s / 60)} min ${String(Math.round(s % 60)).padStart(2, "0")} s`);
export const verbName = (verb) => ({ fit: "material fit", printcheck: "print check", solid: "printable files", sheet: "slicing sheet", base: "gripper base", block: "blocked force", bend: "bending", lateral: "lateral stiffness", air: "air supply", press: "pressing on objects", pads: "comparison of pads", grasp: "grasp", "grasp-table": "grasp table", explore: "exploring designs" })[verb] ?? verb;

// A button with its choices; below it how the last job of this kind stands.
export function Run({ verb, label, choices = {}, children = null, tell = false }) {
  if (!has(verb)) return null;
  const job = jobOf(verb);
  const going = job && (job.state === "running" || job.state === "waiting");
  return html`<div class="run" data-verb=${verb}>
    <span class="controls"><button type="button" class="go" disabled=${going} onClick=${() => start(verb, choices)}>${label}</button>${children}</span>
    ${job ? html`<${Job} job=${job} />` : null}
    ${tell && job?.state === "done" ? html`<pre tabindex="0" role="region" aria-label=${`What ${verbName(verb)} found`}>${job.said.join("\n")}</pre>` : null}
  </div>`;
}

export function Job({ job }) {
  const going = job.state === "running" || job.state === "waiting";
  const open = useSignal(false);
  const errors = job.document?.errors ?? [];
  const share = job.parts ? job.done / job.parts : null;
  return html`<div class=${`job ${job.state}`} data-state=${job.state}>
    <p role="status"><b>${verbName(job.verb)}</b> ${STATES[job.state]}${job.cancelling ? ", stopping at the next safe place" : ""}${job.elapsed_s ? `, ${clock(job.elapsed_s)}` : ""}${job.ending && job.state !== "done" ? `. ${job.ending}` : ""}</p>
    ${going ? html`<progress aria-label=${`Progress of ${verbName(job.verb)}`} max="1" ...${share === null ? {} : { value: share }}></progress>` : null}
    ${job.said.length && going ? html`<p class="line">${job.said.at(-1)}</p>` : null}
    ${errors.map((e) => html`<p class="finding mistake" role="alert"><b>${e.where ?? ""}</b> ${e.message} ${e.found ? `(found ${e.found})` : ""} ${e.remedy ?? ""}</p>`)}
    ${!errors.length && job.state === "failed" ? html`<p class="finding mistake" role="alert">${job.said.slice(-3).join(" ")}</p>` : null}
    <span class="controls">
      ${going ? html`<button type="button" onClick=${() => stop(job.id)}>Cancel</button>` : html`<button type="button" onClick=${() => stop(job.id, true)}>Clear away</button>`}
      <button type="button" aria-expanded=${open.value ? "true" : "false"} onClick=${() => (open.value = !open.value)}>What it said</button>
    </span>
    ${open.value ? html`<pre tabindex="0">${job.said.join("\n") || "nothing yet"}</pre>` : null}
  </div>`;
}

export function Tray() {
  const going = jobs.value.filter((j) => j.state === "running" || j.state === "waiting");
  if (!jobs.value.length) return null;
  return html`<details class="tray"><summary>${going.length ? `${going.length} at work: ${going.map((j) => `${verbName(j.verb)}${j.parts ? ` ${j.done}/${j.parts}` : ""}`).join(", ")}` : `${jobs.value.length} jobs ended`}</summary>
    ${jobs.value.map((j) => html`<${Job} key=${j.id} job=${j} />`)}</details>`;
}

export function Freshness({ result }) {
  if (!result) return null;
  const when = new Date(result.written).toLocaleString();
  if (result.fits === false) return html`<p class="stale" role="status">From an earlier state of the project (${when}). Run it again to bring it up to date.</p>`;
  return html`<p class="fresh">${result.fits ? "Up to date" : "Written"}, ${when}</p>`;
}
export const isFresh = (place) => {
  const found = resultAt(place) ?? results.value.results.find((r) => r.kind === place && !r.place.startsWith("kept/"));
  return found ? (found.fits === false ? "old" : "done") : "none";
};
