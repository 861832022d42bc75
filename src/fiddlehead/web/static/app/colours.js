// Perceptually uniform scales, safe for colour-blind eyes (the published viridis anchors, sampled),
// and the line colours of Okabe and Ito (2008), as in our printed pictures.

const ANCHORS = {
  light: [[253, 231, 37], [181, 222, 43], [110, 206, 88], [53, 183, 121], [31, 158, 137], [38, 130, 142], [49, 104, 142], [62, 73, 137], [72, 40, 120], [68, 1, 84]],
};
ANCHORS.dark = [...ANCHORS.light].reverse();

export function ramp(name = "light", size = 256) {
  const anchors = ANCHORS[name];
  const texels = new Uint8Array(4 * size);
  for (let k = 0; k < size; k++) {
    const at = (k / (size - 1)) * (anchors.length - 1);
    const low = Math.min(Math.floor(at), anchors.length - 2);
    for (let c = 0; c < 3; c++)
      texels[4 * k + c] = Math.round(anchors[low][c] + (at - low) * (anchors[low + 1][c] - anchors[low][c]));
    texels[4 * k + 3] = 255;
  }
  return texels;
}
export const rampCss = (name) =>
  `linear-gradient(to right, ${ANCHORS[name].map((c) => `rgb(${c.join(" ")})`).join(", ")})`;

export const LINES = {
  light: ["#0072b2", "#b34d00", "#00795a", "#a8528a", "#8a6100", "#20739e", "#333333"],
  dark: ["#56b4e9", "#e9873a", "#2fbf93", "#dd9cc2", "#e69f00", "#8cc9ee", "#dddddd"],
};
