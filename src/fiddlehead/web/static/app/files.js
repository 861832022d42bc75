// Files in and out: dropping, looking at, saving.

import { html, useRef, useSignal } from "../vendor/preact.js";
import { fileAddress, upload } from "./api.js";
import { complain, resultAt, say } from "./state.js";

export function Drop({ drawer, label, accept, onFile }) {
  const input = useRef(null);
  const over = useSignal(false);
  const take = async (files) => {
    const names = [];
    for (const file of files)
      try {
        names.push((await upload(drawer, file)).file);
      } catch (error) {
        complain(error);
      }
    if (names.length) {
      say("done", `${names.length === 1 ? names[0] : `${names.length} files`} taken into the project.`);
      onFile(names);
    }
  };
  return html`<div class=${`drop${over.value ? " over" : ""}`}
    onDragOver=${(e) => { e.preventDefault(); over.value = true; }} onDragLeave=${() => (over.value = false)}
    onDrop=${(e) => { e.preventDefault(); over.value = false; take([...e.dataTransfer.files]); }}>
    <button type="button" onClick=${() => input.current.click()}>${label}</button> <span>or drop it here (${accept.replaceAll(".", "").replaceAll(",", ", ")})</span>
    <input ref=${input} type="file" multiple accept=${accept} hidden aria-label=${label} onChange=${(e) => { take([...e.target.files]); e.target.value = ""; }} />
  </div>`;
}

const KINDS = { png: "picture", svg: "drawing", csv: "table", json: "record", vtu: "mesh", pvd: "mesh series", stl: "STL", "3mf": "3MF", step: "STEP", html: "page", pdf: "PDF", toml: "settings", npz: "arrays" };
const ending = (name) => name.split(".").pop();

export function Downloads({ place }) {
  const result = resultAt(place);
  if (!result) return null;
  const files = result.files.filter((f) => !f.startsWith("steps/") && f !== "contents.json");
  return html`<details class="downloads"><summary>Save files (${result.files.length})</summary>
    <p><a class="button" href=${`/zip/${place}`} download>Everything as one ZIP</a></p>
    <ul>${files.map((f) => html`<li><a href=${fileAddress(`results/${place}/${f}`, true)} download>${f}</a> <small>${KINDS[ending(f)] ?? ""}</small>
      ${["html", "pdf"].includes(ending(f)) ? html` <a href=${fileAddress(`results/${place}/${f}`)} target="_blank" rel="noopener">open<span class="hidden"> ${f} in a new tab</span></a>` : null}</li>`)}</ul></details>`;
}

// Printed pictures of a result, on paper whatever the theme.
export function Pictures({ place, only = null, without = [] }) {
  const result = resultAt(place);
  const names = (result?.files ?? []).filter((f) => /\.(svg|png|gif)$/.test(f));
  const stems = [...new Set(names.map((f) => f.replace(/\.(svg|png|gif)$/, "")))].filter((s) => (only ? only.includes(s) : !without.includes(s)));
  return html`<div class="pictures">${stems.map((s) => {
    const file = names.find((n) => n === `${s}.png` || n === `${s}.gif`) ?? `${s}.svg`;
    const text = s.split("/").pop().replaceAll("_", " ");
    return html`<figure class="paper" key=${s}><a href=${fileAddress(`results/${place}/${file}`)} target="_blank" rel="noopener"><img loading="lazy" src=${`${fileAddress(`results/${place}/${file}`)}?${result.written}`} alt=${`${text} (opens large)`} /></a></figure>`;
  })}</div>`;
}
