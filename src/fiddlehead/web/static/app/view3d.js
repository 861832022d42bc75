// The finger in space. Two steps are on the graphics card at a time and blended there, so that the
// slider moves smoothly; colours come from a table in the shader, so that range and scale are free.

import * as THREE from "../vendor/three.js";
import { ramp } from "./colours.js";

const VERTEX = `
in vec3 position; in vec3 positionB; in float valueA; in float valueB;
uniform mat4 modelViewMatrix, projectionMatrix; uniform float blend;
out float value; out vec3 seen;
void main() {
  vec4 at = modelViewMatrix * vec4(mix(position, positionB, blend), 1.0);
  value = mix(valueA, valueB, blend); seen = at.xyz;
  gl_Position = projectionMatrix * at;
}`;
const FRAGMENT = `
precision highp float;
in float value; in vec3 seen; out vec4 colour;
uniform sampler2D table; uniform float low, high, coloured; uniform vec3 body;
void main() {
  vec3 normal = normalize(cross(dFdx(seen), dFdy(seen)));
  float light = 0.42 + 0.58 * abs(dot(normal, normalize(vec3(0.25, 0.5, 1.0))));
  float at = clamp((value - low) / max(high - low, 1e-9), 0.0, 1.0);
  vec3 base = mix(body, texture(table, vec2(0.5 / 256.0 + at * 255.0 / 256.0, 0.5)).rgb, coloured);
  colour = vec4(base * light, 1.0);
}`;
const LINE_FRAGMENT = `
precision highp float;
in float value; in vec3 seen; out vec4 colour; uniform vec3 ink;
void main() { colour = vec4(ink, 1.0); }`;

const hex = (text) => {
  const c = new THREE.Color(text);
  c.convertLinearToSRGB(); // the bytes as written, for our own shader
  return new THREE.Vector3(c.r, c.g, c.b);
};

const ROOM = 128e6; // bytes of steps on the card

class Pane {
  constructor(table) {
    this.scene = new THREE.Scene();
    this.geometry = null;
    this.uniforms = {
      blend: { value: 0 }, low: { value: 0 }, high: { value: 1 }, coloured: { value: 0 },
      body: { value: new THREE.Vector3() }, ink: { value: new THREE.Vector3() }, table: { value: table },
    };
    const shader = (fragmentShader, more) =>
      new THREE.RawShaderMaterial({ uniforms: this.uniforms, vertexShader: VERTEX, fragmentShader, glslVersion: THREE.GLSL3, ...more });
    this.solid = shader(FRAGMENT, { side: THREE.DoubleSide, polygonOffset: true, polygonOffsetFactor: 1, polygonOffsetUnits: 1 });
    this.line = shader(LINE_FRAGMENT, {});
  }
  load(shape) {
    this.scene.clear();
    this.geometry?.dispose();
    this.lines?.dispose();
    this.shape = shape;
    this.pair = null;
    this.kept = new Map();
    this.bytes = 0;
    const geometry = (this.geometry = new THREE.BufferGeometry());
    const n = shape.vertices;
    for (const [name, size] of [["position", 3], ["positionB", 3], ["valueA", 1], ["valueB", 1]])
      geometry.setAttribute(name, new THREE.BufferAttribute(new Float32Array(n * size), size));
    geometry.setIndex(new THREE.BufferAttribute(shape.arrays.triangles, 1));
    geometry.boundingSphere = this.sphere();
    const mesh = new THREE.Mesh(geometry, this.solid);
    mesh.frustumCulled = false;
    this.scene.add(mesh);
    if (shape.arrays.edges) {
      const lines = (this.lines = new THREE.BufferGeometry());
      for (const name of ["position", "positionB", "valueA", "valueB"]) lines.setAttribute(name, geometry.attributes[name]);
      lines.setIndex(new THREE.BufferAttribute(shape.arrays.edges, 1));
      lines.boundingSphere = geometry.boundingSphere;
      this.edges = new THREE.LineSegments(lines, this.line);
      this.edges.frustumCulled = false;
      this.scene.add(this.edges);
    } else this.edges = null;
  }
  // The numbers of one step; once on the graphics card they stay there while there is room.
  held(array, index, size) {
    const n = this.shape.vertices * size;
    const steps = this.kept.get(array) ?? this.kept.set(array, new Map()).get(array);
    if (!steps.has(index)) {
      if (this.bytes > ROOM) {
        this.bytes = 0;
        for (const one of this.kept.values()) one.clear();
      }
      this.bytes += 4 * n;
      steps.set(index, new THREE.BufferAttribute(array.subarray(index * n, (index + 1) * n), size));
    }
    return steps.get(index);
  }
  sphere() {
    const p = this.shape.arrays.positions;
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (let k = 0; k < p.length; k += 3)
      for (let c = 0; c < 3; c++) {
        if (p[k + c] < low[c]) low[c] = p[k + c];
        if (p[k + c] > high[c]) high[c] = p[k + c];
      }
    this.corners = [0, 1, 2, 3, 4, 5, 6, 7].map((k) =>
      new THREE.Vector3(...low.map((l, c) => ((k >> c) & 1 ? high[c] : l))));
    const centre = new THREE.Vector3(...low.map((l, c) => (l + high[c]) / 2));
    return new THREE.Sphere(centre, Math.hypot(...high.map((h, c) => h - low[c])) / 2 || 1);
  }
  at(step, field) {
    const last = this.shape.steps.length - 1;
    const first = Math.max(0, Math.min(Math.floor(step), Math.max(last - 1, 0)));
    const second = Math.min(first + 1, last);
    const key = `${first} ${field}`;
    if (key !== this.pair) {
      this.pair = key;
      const fill = (name, array, index, size) => {
        const attribute = this.held(array, index, size);
        this.geometry.setAttribute(name, attribute);
        this.lines?.setAttribute(name, attribute);
      };
      fill("position", this.shape.arrays.positions, first, 3);
      fill("positionB", this.shape.arrays.positions, second, 3);
      const values = field && this.shape.arrays[field];
      if (values) {
        fill("valueA", values, first, 1);
        fill("valueB", values, second, 1);
      }
      this.uniforms.coloured.value = values ? 1 : 0;
    }
    this.uniforms.blend.value = second === first ? 0 : Math.min(1, Math.max(0, step - first));
  }
}

// Drawn by the processor, smooth edges cost more than all the rest.
function drawnBySoftware() {
  const gl = document.createElement("canvas").getContext("webgl2");
  const about = gl?.getExtension("WEBGL_debug_renderer_info");
  const name = about ? gl.getParameter(about.UNMASKED_RENDERER_WEBGL) : "";
  gl?.getExtension("WEBGL_lose_context")?.loseContext();
  return /swiftshader|llvmpipe|software/i.test(name);
}

export class View3D {
  constructor(canvas, colours) {
    this.canvas = canvas;
    this.frame = 0;
    this.panes = [];
    this.pending = false;
    this.showEdges = true;
    this.step = 0;
    this.table = new THREE.DataTexture(ramp("light"), 256, 1, THREE.RGBAFormat, THREE.UnsignedByteType);
    this.table.magFilter = this.table.minFilter = THREE.LinearFilter;
    this.table.needsUpdate = true;
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: !drawnBySoftware(), preserveDrawingBuffer: true });
    this.renderer.outputColorSpace = THREE.LinearSRGBColorSpace;
    this.renderer.setPixelRatio(Math.min(devicePixelRatio, 2));
    this.renderer.autoClear = false;
    this.camera = new THREE.PerspectiveCamera(28, 1, 1, 5000);
    this.controls = new THREE.OrbitControls(this.camera, canvas);
    this.controls.addEventListener("change", () => this.draw());
    this.watcher = new ResizeObserver(() => this.resize());
    this.watcher.observe(canvas.parentElement);
    this.paint(colours);
    this.resize();
  }
  paint({ body, ink, card }) {
    this.colours = { body, ink, card };
    const back = hex(card);
    this.renderer.setClearColor(new THREE.Color(back.x, back.y, back.z), 1);
    for (const pane of this.panes) {
      pane.uniforms.body.value = hex(body);
      pane.uniforms.ink.value = hex(ink);
    }
    this.draw();
  }
  load(shapes, keepCamera = false) {
    while (this.panes.length < shapes.length) this.panes.push(new Pane(this.table));
    this.panes.length = shapes.length;
    shapes.forEach((shape, k) => this.panes[k].load(shape));
    this.paint(this.colours);
    const { corners, geometry } = this.panes[0];
    const moved = (corner, k) => corner.distanceTo(this.aimedAt[k]) / geometry.boundingSphere.radius;
    if (keepCamera && this.aimed && Math.max(...corners.map(moved)) < 0.08) return;
    this.aimedAt = corners;
    const way = this.aimed && keepCamera ? this.camera.position.clone().sub(this.controls.target).toArray() : undefined;
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement;
    this.camera.aspect = Math.floor(width / this.panes.length) / Math.max(height, 1);
    this.aim(way);
  }
  aim(direction = [-0.28, 0.34, 1]) {
    const sphere = this.panes[0]?.geometry.boundingSphere;
    if (!sphere) return;
    this.aimed = true;
    const way = new THREE.Vector3(...direction).normalize();
    const right = new THREE.Vector3(0, 1, 0).cross(way).normalize();
    const up = way.clone().cross(right);
    const tall = Math.tan((this.camera.fov * Math.PI) / 360), wide = tall * this.camera.aspect;
    let away = 0;
    for (const pane of this.panes)
      for (const corner of pane.corners) {
        const at = corner.clone().sub(sphere.center);
        const need = Math.max(Math.abs(at.dot(up)) / tall, Math.abs(at.dot(right)) / wide);
        away = Math.max(away, 1.12 * need + at.dot(way));
      }
    this.camera.position.copy(sphere.center).addScaledVector(way, away);
    this.camera.near = away / 50;
    this.camera.far = away * 10;
    this.camera.updateProjectionMatrix();
    this.controls.target.copy(sphere.center);
    this.controls.update();
    this.draw();
  }
  turn(x, y) {
    const offset = this.camera.position.clone().sub(this.controls.target);
    const radius = offset.length();
    const around = Math.atan2(offset.x, offset.z) + x;
    const up = Math.min(1.5, Math.max(-1.5, Math.asin(offset.y / radius) + y));
    offset.set(radius * Math.cos(up) * Math.sin(around), radius * Math.sin(up), radius * Math.cos(up) * Math.cos(around));
    this.camera.position.copy(this.controls.target).add(offset);
    this.controls.update();
    this.draw();
  }
  zoom(factor) {
    this.camera.position.sub(this.controls.target).multiplyScalar(factor).add(this.controls.target);
    this.controls.update();
    this.draw();
  }
  show({ step, field, low, high, edges }) {
    this.step = step;
    this.showEdges = edges;
    for (const pane of this.panes) {
      const last = pane.shape.steps.length - 1;
      pane.at(Math.min(step, last), field);
      pane.uniforms.low.value = low;
      pane.uniforms.high.value = high;
      if (pane.edges) pane.edges.visible = edges;
    }
    this.draw();
  }
  resize() {
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement;
    if (!width || !height) return;
    this.renderer.setSize(width, height, false);
    this.draw();
  }
  draw() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      this.render();
    });
  }
  render() {
    if (this.gone || !this.panes.length) return;
    const { clientWidth: width, clientHeight: height } = this.canvas.parentElement;
    const each = Math.floor(width / this.panes.length);
    this.camera.aspect = each / Math.max(height, 1);
    this.camera.updateProjectionMatrix();
    this.renderer.setScissorTest(true);
    this.panes.forEach((pane, k) => {
      this.renderer.setViewport(k * each, 0, each, height);
      this.renderer.setScissor(k * each, 0, each, height);
      this.renderer.clear();
      this.renderer.render(pane.scene, this.camera);
    });
    this.frame += 1;
    this.canvas.dataset.frame = this.frame;
    this.canvas.dataset.step = Number(this.step.toFixed(3));
  }
  picture() {
    this.render();
    return this.canvas.toDataURL("image/png");
  }
  dispose() {
    this.gone = true;
    this.watcher.disconnect();
    this.controls.dispose();
    for (const pane of this.panes) pane.geometry?.dispose();
    this.renderer.dispose();
  }
}
