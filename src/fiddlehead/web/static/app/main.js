// The page: a stem with a leaf for each step of the job, the page of the chosen step, work below.

import { effect, html, render, useEffect } from "../vendor/preact.js";
import { ask } from "./api.js";
import { Finger, Material, Pad } from "./pages/design.js";
import { Air, Bench, File, Print, Report, Start } from "./pages/making.js";
import { Explore } from "./pages/explore.js";
import { Bend, Grasp, Press } from "./pages/trials.js";
import { boot, commit, complain, dark, discard, draft, fileValueAt, findings, has, lost, notice, page, project, step, watch } from "./state.js";
import { Tray, isFresh } from "./work.js";

const PAGES = [
  { id: "material", name: "Material", show: Material, made: "material" },
  { id: "finger", name: "Finger", show: Finger, sections: ["finger", "loads", "print"] },
  { id: "pad", name: "Pad", show: Pad, sections: ["pad"] },
  { id: "bend", name: "Bend", show: Bend, made: "bend" },
  { id: "press", name: "Press", show: Press, made: "press", verb: "press" },
  { id: "grasp", name: "Grasp", show: Grasp, made: "grasp", verb: "grasp" },
  { id: "explore", name: "Explore", show: Explore, made: "study", verb: "explore" },
  { id: "print", name: "Print", show: Print, made: "printcheck" },
  { id: "bench", name: "Bench", show: Bench, made: "measured" },
  { id: "air", name: "Air", show: Air, made: "air" },
  { id: "report", name: "Report", show: Report, made: "report" },
  { id: "file", name: "File", show: File },
];
const there = () => PAGES.filter((p) => !p.verb || has(p.verb));

function leafState(p) {
  const name = p.id === "material" ? ["material"] : p.sections ?? [p.id];
  if (findings.value.some((f) => f.kind === "mistake" && name.includes(f.field.split(/[.[]/)[0]))) return "wrong";
  if (p.made) return isFresh(p.made);
  if (p.id === "pad") return fileValueAt(["pad"]) === undefined ? "none" : "done";
  return p.id === "file" ? "plain" : "done";
}
const SAID = { wrong: "something is wrong", done: "done", old: "from an earlier state", none: "not done yet", plain: "" };

function Leaf({ state }) {
  return html`<svg class=${`leaf ${state}`} viewBox="0 0 20 20" aria-hidden="true"><path d="M3 17C3 8 8 3 17 3c0 9-5 14-14 14Z" /><path class="vein" d="M3 17 12 8" /></svg>`;
}

function Stem() {
  return html`<nav aria-label="Steps of the job"><ol class="stem">${there().map((p) => {
    const state = leafState(p);
    return html`<li><a href=${`#${p.id}`} aria-current=${page.value === p.id ? "page" : undefined}><${Leaf} state=${state} /><span>${p.name}</span>${SAID[state] ? html`<span class="hidden">, ${SAID[state]}</span>` : null}</a></li>`;
  })}</ol></nav>`;
}

function Head() {
  const { value } = project;
  const unsaved = draft.value.size;
  const toggle = () => {
    dark.value = !dark.value;
    localStorage.setItem("fiddlehead-dark", dark.value ? "1" : "0");
  };
  return html`<header><a class="mark" href="#finger"><svg viewBox="0 0 32 32" aria-hidden="true"><path d="M16 30C14 20 8 18 8 11a8 8 0 1 1 13 6c-3 2-7 0-7-4a3.5 3.5 0 0 1 7-.5" /></svg><span class="hidden">fiddlehead, </span>${value?.entries?.project?.name ?? boot.value.folder}</a>
    <span class="controls">
      ${unsaved ? html`<span class="unwritten" role="status">${unsaved} not written yet <button type="button" onClick=${commit}>Write</button> <button type="button" onClick=${discard}>Discard</button></span>` : null}
      <button type="button" disabled=${!value?.undo} onClick=${() => step("undo")}>Undo</button>
      <button type="button" aria-pressed=${dark.value ? "true" : "false"} onClick=${toggle}>Dark</button></span></header>`;
}

function Notice() {
  useEffect(() => {
    if (notice.value?.kind !== "done") return undefined;
    const timer = setTimeout(() => (notice.value = null), 6000);
    return () => clearTimeout(timer);
  }, [notice.value]);
  if (lost.value) return html`<div class="notice error" role="alert">The workbench does not answer. Is fiddlehead serve still running? This page goes on by itself when it does.</div>`;
  if (!notice.value) return null;
  return html`<div class=${`notice ${notice.value.kind}`} role=${notice.value.kind === "error" ? "alert" : "status"}>${notice.value.text} <button type="button" aria-label="Close this message" onClick=${() => (notice.value = null)}>×</button></div>`;
}

function Page() {
  if (!boot.value || !project.value) return html`<p class="hint">Opening the project …</p>`;
  const chosen = there().find((p) => p.id === page.value) ?? there()[1];
  const { exists, error } = project.value;
  return html`<${Head} /><div class="body">${exists && !error ? html`<${Stem} />` : null}
    <main id="main" tabindex="-1">${!exists ? html`<${Start} />`
      : error ? html`<h2>The project file cannot be read</h2><p role="alert" class="finding mistake"><b>${error.where}</b> ${error.message}${error.found ? ` (found ${error.found})` : ""}. ${error.remedy}</p><p>Mend it in an editor; this page goes on by itself.</p>`
        : html`<h2>${chosen.name}</h2><${chosen.show} key=${chosen.id} />`}</main></div>
    <${Notice} /><${Tray} />`;
}

function follow() {
  page.value = location.hash.slice(1) || "finger";
  notice.value = null;
}

async function open() {
  const stored = localStorage.getItem("fiddlehead-dark");
  const system = matchMedia("(prefers-color-scheme: dark)");
  dark.value = stored === null ? system.matches : stored === "1";
  system.addEventListener("change", (e) => localStorage.getItem("fiddlehead-dark") === null && (dark.value = e.matches));
  effect(() => (document.documentElement.dataset.theme = dark.value ? "dark" : "light"));
  addEventListener("hashchange", () => {
    commit();
    follow();
    document.getElementById("main")?.focus();
    scrollTo(0, 0);
  });
  addEventListener("dragover", (e) => e.preventDefault());
  addEventListener("drop", (e) => e.preventDefault());
  follow();
  effect(() => {
    document.title = `${titleStart()}fiddlehead workbench`;
  });
  render(html`<${Page} />`, document.getElementById("page"));
  await Promise.all([ask("boot").then((told) => (boot.value = told), complain), watch()]);
  document.body.dataset.ready = "1";
}
const titleStart = () => {
  const name = project.value?.entries?.project?.name;
  return name ? `${name} - ` : "";
};

open();
