// The section with its dimensions, drawn live.

import { html } from "../vendor/preact.js";

const points = (loop, shift = 0) => loop.map(([x, y]) => `${(x + shift).toFixed(3)},${(-y).toFixed(3)}`).join(" ");

function Dimension({ one, shift = 0 }) {
  const [dx, dy] = one.offset;
  const a = [one.start[0] + dx + shift, -(one.start[1] + dy)];
  const b = [one.end[0] + dx + shift, -(one.end[1] + dy)];
  const upright = dx !== 0;
  const away = upright ? Math.sign(dx) : Math.sign(dy);
  const middle = [(a[0] + b[0]) / 2 + (upright ? away * 1.3 : 0), (a[1] + b[1]) / 2 - (upright ? 0 : away > 0 ? 1 : -2.6)];
  const tick = (p) => (upright ? `M${p[0] - 0.9} ${p[1]}h1.8` : `M${p[0]} ${p[1] - 0.9}v1.8`);
  return html`<g class="dimension">
    <path class="lead" d=${`M${one.start[0] + shift} ${-one.start[1]}L${a[0]} ${a[1]}M${one.end[0] + shift} ${-one.end[1]}L${b[0]} ${b[1]}`} />
    <path d=${`M${a[0]} ${a[1]}L${b[0]} ${b[1]}${tick(a)}${tick(b)}`} />
    <text x=${middle[0]} y=${middle[1]} text-anchor="middle" transform=${upright ? `rotate(-90 ${middle[0]} ${middle[1]})` : ""} dy=${upright ? (away > 0 ? 1.8 : -0.2) : 0}>${one.text}</text></g>`;
}

export function Section({ section, stale }) {
  if (!section) return html`<p class="hint">The drawing appears when nothing in the sizes is wrong.</p>`;
  const xs = section.outer.map((p) => p[0]), ys = section.outer.map((p) => p[1]);
  const right = Math.max(...xs), low = Math.min(...ys), high = Math.max(...ys);
  const half = -Math.min(...section.across.outer.map((p) => p[0]));
  const shift = right + 24 + half;
  const box = [-15, -(high + 15), shift + half + 14 + 15, high - low + 33];
  return html`<figure class=${`section${stale ? " stale" : ""}`}>
    <svg viewBox=${box.join(" ")} role="img" aria-label=${`Section of the finger: ${section.dimensions.map((d) => d.text).join(", ")} mm. ${section.note}`}>
      <polygon class="solid" points=${points(section.outer)} />
      <polygon class="air" points=${points(section.cavity)} />
      ${section.voids.map((v) => html`<polygon class="void" points=${points(v)} />`)}
      ${section.inlet ? html`<polygon class="inlet" points=${points(section.inlet)} />` : null}
      ${section.dimensions.map((d) => html`<${Dimension} one=${d} />`)}
      <polygon class="solid" points=${points(section.across.outer, shift)} />
      <polygon class="air" points=${points(section.across.chamber, shift)} />
      <polygon class="inlet" points=${points(section.across.channel, shift)} />
      ${section.across.dimensions.map((d) => html`<${Dimension} one=${d} shift=${shift} />`)}
      <text class="view" x=${right / 2} y=${-low + 17} text-anchor="middle">at mid-width</text>
      <text class="view" x=${shift} y=${-low + 17} text-anchor="middle">across a bellows</text>
    </svg><figcaption>${section.note}</figcaption></figure>`;
}
