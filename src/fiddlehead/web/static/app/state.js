// What the page knows. The project file is the truth; changes not yet written live in `draft`.

import { batch, computed, signal } from "../vendor/preact.js";
import { Refused, ask, tell, tellShape } from "./api.js";

export const boot = signal(null);
export const project = signal(null);
export const results = signal({ results: [], card: null });
export const jobs = signal([]);
export const draft = signal(new Map()); // key path as JSON -> value (null takes the entry out)
export const tried = signal({ findings: [], section: null, measures: null });
export const notice = signal(null); // {kind: "error" | "done", text}
export const dark = signal(false);
export const page = signal("");
export const lost = signal(false);

export const has = (verb) => boot.value?.verbs.includes(verb);
export const keyOf = (path) => JSON.stringify(path);
export const changesOf = (pairs) => [...pairs].map(([key, value]) => ({ path: JSON.parse(key), value }));

export const resultAt = (place) => results.value.results.find((r) => r.place === place);
export const jobOf = (verb) => jobs.value.find((j) => j.verb === verb);
export const busy = computed(() => jobs.value.some((j) => j.state === "running" || j.state === "waiting"));

export function say(kind, text) {
  notice.value = { kind, text };
}
export function complain(error) {
  if (error.name === "AbortError") return;
  say("error", error instanceof Refused ? error.sentence : String(error.message ?? error));
}

// The value of an entry: as being typed, else as the file has it, else the default.
export function valueAt(path) {
  const key = keyOf(path);
  if (draft.value.has(key)) return draft.value.get(key);
  return fileValueAt(path);
}
export function fileValueAt(path) {
  let place = project.value?.entries;
  for (const step of path) {
    if (place == null) return undefined;
    place = place[step];
  }
  return place;
}

export const findings = computed(() =>
  draft.value.size ? tried.value.findings : project.value?.findings ?? []);

const dotted = (path) =>
  path.reduce((text, step) => (typeof step === "number" ? `${text}[${step + 1}]` : text ? `${text}.${step}` : step), "");
export const findingsAt = (path) => {
  const name = dotted(path);
  return findings.value.filter((f) => f.field === name);
};

let latest = 0;
let waiting = null;
export function edit(path, value) {
  const next = new Map(draft.value);
  const key = keyOf(path);
  const same = JSON.stringify(fileValueAt(path) ?? null) === JSON.stringify(value ?? null);
  if (same) next.delete(key);
  else next.set(key, value);
  draft.value = next;
  clearTimeout(waiting);
  waiting = setTimeout(tryDraft, 30);
}

export async function tryDraft() {
  const mine = ++latest;
  try {
    const shape = await tellShape("shape", { changes: changesOf(draft.value) });
    const { findings: told, section, measures } = shape;
    if (mine === latest) shown({ findings: told, ...(section ? { section, measures, shape } : {}) });
  } catch (error) {
    complain(error);
  }
}

// One change after the other: each is made to the file that the one before has left.
let last = Promise.resolve();
const inTurn = (work) => (last = last.then(work, work));

// Write what was typed, when nothing in it is wrong.
export const commit = () => inTurn(commitNow);
async function commitNow() {
  if (!draft.value.size || !project.value?.etag) return;
  await tryDraft();
  const sent = draft.value;
  const wrong = tried.value.findings.some((f) => f.kind === "mistake" && touches(sent, f.field));
  if (wrong || !sent.size) return;
  await writeNow(changesOf(sent), sent);
}

const touches = (changes, field) =>
  [...changes.keys()].some((key) => {
    const name = dotted(JSON.parse(key));
    return field === name || field.startsWith(`${name}.`) || name.startsWith(`${field}.`) ||
      field.split(".")[0] === name.split(".")[0];
  });

export const write = (changes) => inTurn(() => writeNow(changes));
async function writeNow(changes, sent = null) {
  try {
    const told = await tell("change", { changes, etag: project.value.etag });
    batch(() => {
      take(told);
      if (sent) draft.value = new Map([...draft.value].filter(([k, v]) => !(sent.has(k) && sent.get(k) === v)));
    });
    await refreshResults();
    return true;
  } catch (error) {
    complain(error);
    if (error instanceof Refused) await refreshProject();
    return false;
  }
}

export function discard() {
  draft.value = new Map();
  tryDraft();
}

export const step = (direction) => inTurn(() => stepNow(direction));
async function stepNow(direction) {
  try {
    draft.value = new Map();
    take(await tell(direction));
    await refreshResults();
  } catch (error) {
    complain(error);
  }
}

let seenFile = "";
let seenResults = "";
function take(told) {
  project.value = told;
  seenFile = told.file ?? "";
  if (told.findings && !draft.value.size) {
    const { findings: found, section, measures } = told;
    shown({ findings: found, ...(section ? { section, measures } : {}) });
  }
}
function shown(told) {
  const { section, measures, shape } = tried.value;
  tried.value = { section, measures, shape, stale: !told.section, ...told };
}
export async function refreshProject() {
  take(await ask("project"));
  if (draft.value.size) await tryDraft();
}
export async function refreshResults() {
  results.value = await ask("results");
}

// One question a second tells what changed by itself.
export async function watch() {
  try {
    const told = await ask("state");
    lost.value = false;
    if (JSON.stringify(jobs.value) !== JSON.stringify(told.jobs)) jobs.value = told.jobs;
    const fresh = [];
    if (told.file !== seenFile) fresh.push(refreshProject());
    if (told.results !== seenResults) fresh.push(refreshResults());
    seenResults = told.results;
    await Promise.all(fresh);
  } catch (error) {
    lost.value = !(error instanceof Refused);
  }
  setTimeout(watch, busy.value ? 400 : 1000);
}

export async function start(verb, choices = {}) {
  await commit();
  if (draft.value.size) {
    say("error", "There are changes that are not written yet, because something in them is wrong. Mend or discard them first.");
    return;
  }
  try {
    await tell("jobs", { verb, choices });
    jobs.value = (await ask("state")).jobs;
  } catch (error) {
    complain(error);
  }
}
export async function stop(id, forget = false) {
  try {
    jobs.value = (await tell(`jobs/${id}/${forget ? "forget" : "cancel"}`)).jobs;
  } catch (error) {
    complain(error);
  }
}
