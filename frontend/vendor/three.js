export {
  BufferAttribute, BufferGeometry, Color, DataTexture, DoubleSide, FloatType, GLSL3, LinearFilter,
  Matrix4, Mesh, NearestFilter, PerspectiveCamera, RGBAFormat, RawShaderMaterial, Scene,
  ShaderMaterial, Sphere, SRGBColorSpace, UnsignedByteType, Vector3, WebGLRenderer,
} from "three";
export { OrbitControls } from "three/addons/controls/OrbitControls.js";
