// Questions to the workbench. An error it tells becomes a Refused with its fields.

export class Refused extends Error {
  constructor(fields, status) {
    super(fields.message);
    this.fields = fields;
    this.status = status;
  }
  get sentence() {
    const { where, message, found, allowed, remedy } = this.fields;
    let text = where ? `${where}: ${message}` : message;
    if (found) text += ` (found ${found}${allowed ? `; allowed ${allowed}` : ""})`;
    else if (allowed) text += ` (allowed ${allowed})`;
    return remedy ? `${text}. ${remedy}` : `${text}.`;
  }
}

async function answered(response) {
  if (response.ok) return response;
  const fields = await response.json().catch(() => null);
  if (fields && fields.message) throw new Refused(fields, response.status);
  const words = { 413: "this file is too large; 64 MB are taken", 401: "the token is missing" };
  throw new Refused({ message: words[response.status] ?? `the workbench answered ${response.status}` }, response.status);
}

export const ask = async (path, query = {}) => {
  const text = new URLSearchParams(query).toString();
  return (await answered(await fetch(`/api/${path}${text ? `?${text}` : ""}`))).json();
};

const posted = (path, body, signal) =>
  fetch(`/api/${path}`, {
    method: "POST", signal, body: JSON.stringify(body), headers: { "content-type": "application/json" },
  }).then(answered);

export const tell = async (path, body = {}, signal) => (await posted(path, body, signal)).json();

export const upload = async (drawer, file) =>
  (await answered(await fetch(`/api/upload/${drawer}/${encodeURIComponent(file.name)}`, { method: "PUT", body: file }))).json();

// Packed arrays: a length, a JSON head, then the numbers.
function unpacked(buffer) {
  const length = new DataView(buffer).getUint32(0, true);
  const head = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 4, length)));
  let at = 4 + length;
  const arrays = {};
  for (const { name, shape, kind } of head.arrays) {
    const count = shape.reduce((a, b) => a * b, 1);
    arrays[name] = kind === "f4" ? new Float32Array(buffer, at, count) : new Uint32Array(buffer, at, count);
    at += 4 * count;
  }
  return { ...head, arrays, vertices: head.arrays.find((a) => a.name === "positions")?.shape[1] ?? 0 };
}

export const askShape = async (path, query) => {
  const text = new URLSearchParams(query).toString();
  return unpacked(await (await answered(await fetch(`/api/${path}?${text}`))).arrayBuffer());
};
export const tellShape = async (path, body, signal) =>
  unpacked(await (await posted(path, body, signal)).arrayBuffer());

export const fileAddress = (name, save = false) =>
  `/files/${name.split("/").map(encodeURIComponent).join("/")}${save ? "?save=1" : ""}`;
