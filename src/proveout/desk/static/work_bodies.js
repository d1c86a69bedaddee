// Solids of the picture from what the desk sends: meshes, bodies of revolution, boxes and cylinders, ways.
import {
  BoxGeometry, BufferAttribute, BufferGeometry, CylinderGeometry, Group, InterleavedBuffer, InterleavedBufferAttribute,
  LatheGeometry, LineSegments, Mesh, Vector2,
} from "./three.min.js";
import { line, surface } from "./work_ink.js";

const ROUND = 48, CORNER = 8;
const edgesInk = line(), rapidInk = line({ dots: 2.4 }), cutInk = line(), unsureInk = line({ dots: 6 });

// A mesh of whole steps; its own frame is the part's, in steps from the middle.
export const meshed = ({ head, arrays }, material, stateOf = null) => {
  const group = new Group();
  const buffer = new InterleavedBuffer(arrays.points, 4);
  const at = new InterleavedBufferAttribute(buffer, 3, 0);
  const solid = new BufferGeometry();
  solid.setAttribute("position", at);
  if (stateOf) {
    solid.setAttribute("face", new InterleavedBufferAttribute(buffer, 1, 3));
    const states = new Uint8Array(arrays.points.length / 4);
    for (let i = 0; i < states.length; i++) states[i] = stateOf(arrays.points[4 * i + 3]);
    solid.setAttribute("state", new BufferAttribute(states, 1));
  }
  solid.setIndex(new BufferAttribute(arrays.triangles, 1));
  const edges = new BufferGeometry();
  edges.setAttribute("position", at);
  edges.setIndex(new BufferAttribute(arrays.edges, 1));
  const mesh = new Mesh(solid, material);
  const lines = new LineSegments(edges, edgesInk);
  for (const one of [mesh, lines]) one.frustumCulled = false;
  group.add(mesh, lines);
  group.scale.setScalar(head.step_mm);
  group.position.set(...head.middle_mm);
  group.userData.mesh = mesh;
  return group;
};

const profile = (piece) => {
  const { kind, z_low_mm: low, z_high_mm: high, r_low_mm: inner, r_high_mm: outer } = piece;
  if (kind === "frustum") return [[0, low], [inner, low], [outer, high], [0, high]];
  const half = (high - low) / 2, flat = kind === "ball" ? 0 : inner, found = [[0, low]];
  for (let n = 0; n <= CORNER; n++) {
    const turn = -Math.PI / 2 + Math.PI * n / CORNER;
    found.push([flat + half * Math.cos(turn), low + half + half * Math.sin(turn)]);
  }
  found.push([0, high]);
  return found;
};

const revolved = (piece, material) => {
  const corners = profile(piece).map(([r, z]) => new Vector2(r, z));
  const mesh = new Mesh(new LatheGeometry(corners, ROUND), material);
  const rims = profile(piece).filter(([r]) => r > 0);
  const shown = piece.kind === "frustum" ? rims : [];
  const group = new Group();
  group.add(mesh);
  for (const [r, z] of shown) {
    const points = new Float32Array(ROUND * 6);
    for (let n = 0; n < ROUND; n++) for (const [end, turn] of [[0, n], [1, n + 1]]) {
      const angle = 2 * Math.PI * turn / ROUND;
      points.set([r * Math.cos(angle), z, r * Math.sin(angle)], 6 * n + 3 * end);
    }
    const rim = new BufferGeometry();
    rim.setAttribute("position", new BufferAttribute(points, 3));
    group.add(new LineSegments(rim, edgesInk));
  }
  return group;
};

// Cutter, shank, holder and head about their axis, which is y here; tip at the origin.
export const cutterOf = (bodies) => {
  const group = new Group();
  const papers = { edges: [0.8, 0.78, 0.74], shank: [0.93, 0.92, 0.9], head: [0.97, 0.965, 0.95] };
  for (const [name, paper] of Object.entries(papers)) {
    const material = surface(paper, { twoSided: true });
    for (const piece of bodies[name]) {
      const one = revolved(piece, material);
      one.name = name;
      group.add(one);
    }
  }
  return group;
};

// A body of the checks: a box or an upright cylinder; one that may stand elsewhere is drawn by dashed edges alone.
export const obstacleOf = (body) => {
  const size = [0, 1, 2].map((k) => body.high_mm[k] - body.low_mm[k]);
  const group = new Group();
  const shape = body.is_round ? new CylinderGeometry(size[0] / 2, size[0] / 2, size[2], ROUND) : new BoxGeometry(...size);
  if (body.is_round) shape.rotateX(Math.PI / 2);
  if (body.is_sure) group.add(new Mesh(shape, surface([0.985, 0.975, 0.95])));
  group.add(new LineSegments(rims(body, size), body.is_sure ? edgesInk : unsureInk));
  group.position.set(...[0, 1, 2].map((k) => (body.high_mm[k] + body.low_mm[k]) / 2));
  return group;
};

const rims = (body, size) => {
  const [x, y, z] = size.map((v) => v / 2), points = [];
  if (body.is_round) {
    for (const h of [-z, z]) for (let n = 0; n < ROUND; n++) for (const m of [n, n + 1]) {
      points.push(x * Math.cos(2 * Math.PI * m / ROUND), x * Math.sin(2 * Math.PI * m / ROUND), h);
    }
  } else {
    const ends = [[-x, -y], [x, -y], [x, y], [-x, y]];
    for (let n = 0; n < 4; n++) {
      const one = ends[n], next = ends[(n + 1) % 4];
      points.push(...one, -z, ...next, -z, ...one, z, ...next, z, ...one, -z, ...one, z);
    }
  }
  return lined(new Float32Array(points));
};

// Pairs of ends, with how far along each line a place is, for dots.
const lined = (points) => {
  const along = new Float32Array(points.length / 3);
  let far = 0;
  for (let n = 0; n + 1 < along.length; n += 2) {
    const at = 3 * n;
    along[n] = far;
    far += Math.hypot(points[at + 3] - points[at], points[at + 4] - points[at + 1], points[at + 5] - points[at + 2]);
    along[n + 1] = far;
  }
  const found = new BufferGeometry();
  found.setAttribute("position", new BufferAttribute(points, 3));
  found.setAttribute("along", new BufferAttribute(along, 1));
  return found;
};

// The way of the tip: cutting moves solid, rapid ones dotted.
export const wayOf = ({ arrays: { points, rapid } }) => {
  const group = new Group(), cutting = [], quick = [];
  for (let n = 0; n < rapid.length; n++) {
    const to = rapid[n] ? quick : cutting;
    for (let k = 0; k < 6; k++) to.push(points[3 * n + k]);
  }
  group.add(new LineSegments(lined(new Float32Array(cutting)), cutInk));
  group.add(new LineSegments(lined(new Float32Array(quick)), rapidInk));
  return group;
};

export const freed = (group) => group?.traverse((one) => {
  one.geometry?.dispose();
  if (one.isMesh) one.material.dispose();
});
