export {
  BufferAttribute, BufferGeometry, Color, DataTexture, DoubleSide, GLSL3, LinearFilter,
  LinearSRGBColorSpace, LineSegments, Mesh, PerspectiveCamera, RawShaderMaterial, RGBAFormat, Scene,
  Sphere, UnsignedByteType, Vector3, WebGLRenderer,
} from "three";
export { OrbitControls } from "three/addons/controls/OrbitControls.js";
