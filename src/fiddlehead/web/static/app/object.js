// An uploaded object in space, with its size.

import { html, useEffect, useSignal } from "../vendor/preact.js";
import { Refused, askShape } from "./api.js";
import { Viewer } from "./viewer.js";

export function ObjectView({ file }) {
  const shape = useSignal(null);
  const wrong = useSignal("");
  useEffect(() => {
    shape.value = null;
    wrong.value = "";
    askShape("object", { file }).then((s) => (shape.value = s), (e) => (wrong.value = e instanceof Refused ? e.sentence : String(e)));
  }, [file]);
  if (wrong.value) return html`<p class="finding mistake" role="alert">${wrong.value}</p>`;
  if (!shape.value) return null;
  return html`<p>${file}: ${shape.value.size_mm.map((v) => v.toFixed(1)).join(" × ")} mm, ${shape.value.volume_cm3.toFixed(1)} cm³, closed.</p>
    <${Viewer} shapes=${[shape.value]} label=${`Object ${file}`} />`;
}
