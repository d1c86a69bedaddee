// Ink on paper: how surfaces and lines are drawn. Hatch is ruled on the page, not on the solid: it reads at any size.
import { Color, DoubleSide, FrontSide, ShaderMaterial } from "./three.min.js";

const INK = new Color(0.106, 0.098, 0.086);
const ACCENT = new Color(0.62, 0.17, 0.1);

const SURFACE = `
  #ifdef FACES
  attribute float face; attribute float state;
  varying float own; varying float left;
  #endif
  varying vec3 seen;
  void main() {
    vec4 at = modelViewMatrix * vec4(position, 1.0);
    seen = at.xyz;
    #ifdef FACES
    own = face; left = state;
    #endif
    gl_Position = projectionMatrix * at;
  }`;

const SHADE = `
  uniform vec3 paper; uniform vec3 ink; uniform vec3 accent; uniform float dense;
  varying vec3 seen;
  #ifdef FACES
  uniform float chosen; uniform float other;
  varying float own; varying float left;
  float ruled(float along, float every) {
    return 1.0 - smoothstep(0.5 * dense, 1.1 * dense, abs(mod(along, every) - 0.5 * every));
  }
  #endif
  void main() {
    vec3 facing = normalize(cross(dFdx(seen), dFdy(seen)));
    float light = 0.72 + 0.28 * max(0.0, dot(facing, normalize(vec3(-0.35, 0.6, 0.75))));
    vec3 shown = paper * light;
    #ifdef FACES
    float x = gl_FragCoord.x, y = gl_FragCoord.y, every = 8.0 * dense, mark = 0.0;
    if (left > 0.5) mark = ruled((x + y) * 0.7071, every);
    if (left > 1.5) mark = max(mark, ruled((x - y) * 0.7071, every));
    shown = mix(shown, ink, 0.8 * mark);
    if (abs(own - chosen) < 0.5) shown = mix(shown, accent, 0.25 + 0.55 * ruled(y, 4.0 * dense));
    if (abs(own - other) < 0.5) shown = mix(shown, accent, 0.25 + 0.55 * ruled(x, 4.0 * dense));
    #endif
    gl_FragColor = vec4(shown, 1.0);
  }`;

const LINE = `
  attribute float along;
  varying float way;
  void main() { way = along; gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0); }`;

const DRAWN = `
  uniform vec3 ink; uniform float dots;
  varying float way;
  void main() {
    if (dots > 0.0 && mod(way, dots) > 0.45 * dots) discard;
    gl_FragColor = vec4(ink, 1.0);
  }`;

// paper: red, green and blue of the bare surface, 0 to 1.   faces: its vertices carry a face and what is left on it.
export const surface = (paper, { faces = false, twoSided = false } = {}) => new ShaderMaterial({
  vertexShader: SURFACE, fragmentShader: SHADE, defines: faces ? { FACES: 1 } : {},
  uniforms: {
    paper: { value: new Color(...paper) }, ink: { value: INK }, accent: { value: ACCENT }, dense: { value: 1 },
    chosen: { value: -1 }, other: { value: -1 },
  },
  side: twoSided ? DoubleSide : FrontSide, polygonOffset: true, polygonOffsetFactor: 1.5, polygonOffsetUnits: 2,
});

// dots: length of dot and gap together, mm; 0 for a solid line.
export const line = ({ dots = 0, accent = false } = {}) => new ShaderMaterial({
  vertexShader: LINE, fragmentShader: DRAWN,
  uniforms: { ink: { value: accent ? ACCENT : INK }, dots: { value: dots } },
});
