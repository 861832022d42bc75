// A view in space with its slider, colour scale and buttons; works by keyboard, told in words.

import { html, useEffect, useRef, useSignal } from "../vendor/preact.js";
import { dark } from "./state.js";
import { rampCss } from "./colours.js";

const GRIP = [-0.2, -0.9, 0.5]; // from below: the face that meets the object
const css = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();
const colours = () => ({ body: css("--body3d"), ink: css("--edge3d"), card: css("--card") });

// shapes: what api.askShape gave; step: a signal, so that plots can follow it.
export function Viewer({ shapes, names = [], label, step, keepCamera = false, tall = false, under = false }) {
  const canvas = useRef(null);
  const view = useRef(null);
  const failed = useSignal(false);
  const edges = useSignal(false);
  const playing = useSignal(false);
  const own = useSignal(0);
  const at = step ?? own;
  const fields = shapes[0]?.fields ?? [];
  const field = useSignal(null);
  const chosen = fields.find((f) => f.array === field.value) ?? fields[0];
  const top = useSignal("");
  const steps = shapes.length ? Math.max(...shapes.map((s) => s.steps.length)) : 1;
  const of = (name) => shapes.flatMap((s) => s.fields.filter((f) => f.array === chosen?.array).map((f) => f[name]));
  const low = chosen ? Math.min(...of("low")) : 0;
  const high = chosen ? (top.value !== "" && Number(top.value) > low ? Number(top.value) : Math.max(...of("high"))) : 1;

  useEffect(() => {
    let alive = true;
    import("./view3d.js").then(({ View3D }) => {
      if (!alive) return;
      try {
        view.current = new View3D(canvas.current, colours());
        update(true);
      } catch {
        failed.value = true;
      }
    });
    return () => {
      alive = false;
      view.current?.dispose();
    };
  }, []);
  const update = (load) => {
    if (!view.current || !shapes.length) return;
    if (load) view.current.load(shapes, keepCamera);
    if (load && under) view.current.aim(GRIP);
    view.current.show({ step: at.value, field: chosen?.array, low, high, edges: edges.value });
    canvas.current.dataset.loaded = shapes.map((s) => s.vertices).join(" ");
  };
  useEffect(() => update(true), [shapes]);
  useEffect(() => update(false), [at.value, chosen?.array, low, high, edges.value]);
  useEffect(() => view.current?.paint(colours()), [dark.value]);
  useEffect(() => {
    if (!playing.value) return undefined;
    let last = performance.now();
    let handle = 0;
    const tick = (now) => {
      const next = at.value + ((now - last) / 1000) * Math.max(1, (steps - 1) / 5);
      last = now;
      at.value = next >= steps - 1 ? steps - 1 : next;
      if (next >= steps - 1) playing.value = false;
      else handle = requestAnimationFrame(tick);
    };
    handle = requestAnimationFrame(tick);
    return () => cancelAnimationFrame(handle);
  }, [playing.value]);

  const now = shapes[0]?.steps[Math.min(Math.round(at.value), shapes[0].steps.length - 1)];
  const spoken = `${now?.label ?? ""}${shapes[0]?.peaks?.length ? `, ${shapes[0].peaks[Math.min(Math.round(at.value), shapes[0].peaks.length - 1)]}` : ""}`;
  const key = (e) => {
    const turns = { ArrowLeft: [-0.15, 0], ArrowRight: [0.15, 0], ArrowUp: [0, 0.12], ArrowDown: [0, -0.12] };
    if (turns[e.key]) view.current?.turn(...turns[e.key]);
    else if (e.key === "+" || e.key === "=") view.current?.zoom(0.9);
    else if (e.key === "-") view.current?.zoom(1.1);
    else if (e.key === "0") view.current?.aim();
    else return;
    e.preventDefault();
  };
  const save = () => {
    const link = document.createElement("a");
    link.href = view.current.picture();
    link.download = `${label.replaceAll(/\W+/g, "-").toLowerCase()}-${(now?.label ?? "").replaceAll(" ", "")}.png`;
    link.click();
  };
  return html`<figure class=${`viewer${tall ? " tall" : ""}`}>
    <div class="stage">
      ${failed.value
        ? html`<p role="alert" class="nogl">This browser shows nothing in space (WebGL is off). Plots, tables and downloads work all the same.</p>`
        : html`<canvas ref=${canvas} tabindex="0" role="img" aria-label=${`${label}: ${spoken}. Arrow keys turn it, plus and minus zoom, 0 resets.`} onKeyDown=${key}></canvas>`}
      ${names.length > 1 ? html`<div class="panes">${names.map((n) => html`<span>${n}</span>`)}</div>` : null}
    </div>
    ${chosen ? html`<div class="scale">
      ${fields.length > 1 ? html`<label>Colours <select value=${chosen.array} onChange=${(e) => (field.value = e.target.value)}>${fields.map((f) => html`<option value=${f.array}>${f.label}</option>`)}</select></label>` : html`<span>${chosen.label}</span>`}
      <span class="bar"><span>${low.toPrecision(2) * 1}</span><i style=${`background:${rampCss("light")}`}></i><span>${high.toPrecision(3) * 1} ${chosen.unit}</span></span>
      <label>up to <input class="number short" inputmode="decimal" value=${top.value} placeholder=${high.toPrecision(3) * 1} onInput=${(e) => (top.value = e.target.value)} /> ${chosen.unit}</label>
    </div>` : null}
    <figcaption>
      ${steps > 1 ? html`<button type="button" onClick=${() => { if (at.value >= steps - 1) at.value = 0; playing.value = !playing.value; }}>${playing.value ? "Hold" : "Inflate"}</button>
        <label class="slide">Pressure <input type="range" min="0" max=${steps - 1} step="any" value=${at.value} aria-valuetext=${spoken}
          onInput=${(e) => { playing.value = false; at.value = Number(e.target.value); }}
          onKeyDown=${(e) => {
            const way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1 }[e.key];
            if (!way) return;
            e.preventDefault();
            playing.value = false;
            at.value = Math.min(steps - 1, Math.max(0, Math.round(at.value) + way));
          }} /></label>
        <output>${pressureText(shapes[0], at.value)}</output>` : null}
      <span class="tools">
        ${shapes[0]?.arrays.edges ? html`<label><input type="checkbox" checked=${edges.value} onChange=${(e) => (edges.value = e.target.checked)} /> mesh</label>` : null}
        <button type="button" onClick=${() => view.current?.aim()}>Side</button>
        <button type="button" onClick=${() => view.current?.aim(GRIP)}>Grip</button>
        <button type="button" onClick=${save}>Picture</button>
      </span>
    </figcaption>
    ${shapes[0]?.peaks?.length ? html`<p class="peak">Largest: ${shapes[0].peaks[Math.min(Math.round(at.value), shapes[0].peaks.length - 1)]}</p>` : null}
  </figure>`;
}

function pressureText(shape, at) {
  const steps = shape?.steps ?? [];
  const low = Math.min(Math.floor(at), steps.length - 1);
  const high = Math.min(low + 1, steps.length - 1);
  if (steps[low]?.pressure_kpa === undefined) return steps[low]?.label ?? "";
  const value = steps[low].pressure_kpa + (at - low) * (steps[high].pressure_kpa - steps[low].pressure_kpa);
  return `${value.toFixed(0)} kPa`;
}
