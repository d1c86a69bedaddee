// The picture: one clamping's metal, cutter and surroundings, seen without perspective, drawn only when something changed.
import { Group, OrthographicCamera, Quaternion, Raycaster, Scene, Vector2, Vector3, WebGLRenderer } from "./three.min.js";
import { cutterOf, freed, meshed, obstacleOf, wayOf } from "./work_bodies.js";
import { surface } from "./work_ink.js";

const STEP = Math.PI / 18, UPRIGHT = Math.PI / 2, FAR_MM = 4000;

export class Picture {
  constructor(canvas, { onFace, onDrawn }) {
    this.canvas = canvas;
    this.onFace = onFace;
    this.onDrawn = onDrawn;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, powerPreference: "low-power" });
    this.renderer.setClearColor(0xfffdf8, 1);
    this.scene = new Scene();
    this.camera = new OrthographicCamera(-1, 1, 1, -1, 1, 2 * FAR_MM);
    this.work = new Group();
    this.about = new Group();
    this.scene.add(this.work, this.about);
    this.work.matrixAutoUpdate = false;
    this.metalInk = surface([0.95, 0.94, 0.915]);
    this.partInk = surface([0.97, 0.962, 0.94], { faces: true });
    this.view = { yaw: 0, pitch: 0.6, zoom: 1, aim: new Vector3() };
    this.reach = 100;
    this.wanted = false;
    this.frames = [];
    new ResizeObserver(() => this.sized()).observe(canvas);
    this.listen();
    this.sized();
  }

  sized() {
    const dense = Math.min(3, window.devicePixelRatio || 1);
    this.renderer.setPixelRatio(dense);
    this.renderer.setSize(this.canvas.clientWidth || 1, this.canvas.clientHeight || 1, false);
    for (const ink of [this.metalInk, this.partInk]) ink.uniforms.dense.value = dense;
    this.changed();
  }

  // What the clamping is: the work's lie, the operator's eye, all that stands about.
  stand(stand) {
    this.standing = stand;
    const [x, y, z] = stand.turn.map((axis) => new Vector3(...axis)), origin = new Vector3(...stand.origin_mm);
    this.work.matrix.set(
      x.x, x.y, x.z, -x.dot(origin), y.x, y.y, y.z, -y.dot(origin), z.x, z.y, z.z, -z.dot(origin), 0, 0, 0, 1);
    this.work.matrixWorldNeedsUpdate = true;
    freed(this.about);
    this.about.clear();
    for (const body of stand.obstacles) this.about.add(obstacleOf(body));
    for (const one of Object.values(this.cutters ?? {})) { this.scene.remove(one); freed(one); }
    this.cutters = {};
    this.fromDoor();
  }

  // From where the operator stands, looking from the door, on the work.
  fromDoor() {
    const [x, y, z] = this.standing.eye;
    Object.assign(this.view, { yaw: Math.atan2(x, -y), pitch: Math.asin(z), zoom: 1 });
    this.aimed();
  }

  aimed() {
    const box = this.size;
    if (!box) return;
    const middle = new Vector3(...box.low).add(new Vector3(...box.high)).multiplyScalar(0.5);
    this.view.aim.copy(middle.applyMatrix4(this.work.matrix));
    this.reach = 0.62 * Math.hypot(...box.high.map((v, k) => v - box.low[k]));
    this.changed();
  }

  metal(data) {
    if (this.metalGroup) { this.work.remove(this.metalGroup); this.metalGroup.traverse((one) => one.geometry?.dispose()); }
    this.metalGroup = meshed(data, this.metalInk);
    this.work.add(this.metalGroup);
    this.changed();
  }

  part(data) {
    this.partData = data;
    this.partGroup = meshed(data, this.partInk, (face) => data.head.faces[face].state);
    this.work.add(this.partGroup);
    this.changed();
  }

  cutter(id, place) {
    for (const one of Object.values(this.cutters)) one.visible = false;
    const bodies = this.standing.cutters[id];
    this.shownCutter = null;
    if (bodies && place) {
      this.cutters[id] ??= this.scene.add(cutterOf(bodies)).children.at(-1);
      const one = this.shownCutter = this.cutters[id];
      one.quaternion.copy(new Quaternion().setFromUnitVectors(new Vector3(0, 1, 0), new Vector3(...place.axis)));
      one.position.set(...place.tip_mm);
    }
    this.changed();
  }

  way(data) {
    if (this.wayGroup) { this.scene.remove(this.wayGroup); freed(this.wayGroup); }
    this.wayGroup = wayOf(data);
    this.scene.add(this.wayGroup);
    this.changed();
  }

  show(shows) {
    this.shows = shows;
    this.changed();
  }

  choose(face, other) {
    this.partInk.uniforms.chosen.value = face;
    this.partInk.uniforms.other.value = other;
    this.changed();
  }

  changed() {
    if (this.wanted) return;
    this.wanted = true;
    requestAnimationFrame(() => { this.wanted = false; this.draw(); });
  }

  draw() {
    const begun = performance.now();
    const { yaw, pitch, zoom, aim } = this.view, shows = this.shows ?? { solid: "metal", about: true, cutter: true, head: false, way: true };
    const isPart = shows.solid === "part" && this.partGroup;
    if (this.metalGroup) this.metalGroup.visible = !isPart;
    if (this.partGroup) this.partGroup.visible = Boolean(isPart);
    this.about.visible = shows.about;
    if (this.shownCutter) {
      this.shownCutter.visible = shows.cutter || shows.head;
      for (const one of this.shownCutter.children) one.visible = one.name === "head" ? shows.head : shows.cutter;
    }
    if (this.wayGroup) this.wayGroup.visible = shows.way;
    const wide = this.canvas.clientWidth || 1, tall = this.canvas.clientHeight || 1;
    const half = this.reach / zoom, across = wide >= tall ? half * wide / tall : half, up = wide >= tall ? half : half * tall / wide;
    Object.assign(this.camera, { left: -across, right: across, top: up, bottom: -up });
    const towards = new Vector3(Math.sin(yaw) * Math.cos(pitch), -Math.cos(yaw) * Math.cos(pitch), Math.sin(pitch));
    this.camera.up.set(-Math.sin(yaw) * Math.sin(pitch), Math.cos(yaw) * Math.sin(pitch), Math.cos(pitch));
    this.camera.position.copy(aim).addScaledVector(towards, FAR_MM);
    this.camera.lookAt(aim);
    this.camera.updateProjectionMatrix();
    this.renderer.render(this.scene, this.camera);
    this.onDrawn();
    this.frames.push(performance.now() - begun);
    if (this.frames.length > 2000) this.frames.shift();
  }

  // A place of the part on the canvas, in CSS pixels, and how far towards the eye.
  placed(point) {
    const at = new Vector3(...point).applyMatrix4(this.work.matrix).project(this.camera);
    return { x: (at.x + 1) / 2 * this.canvas.clientWidth, y: (1 - at.y) / 2 * this.canvas.clientHeight, deep: at.z };
  }

  faceAt(x, y) {
    if (!this.partGroup) return -1;
    const ray = this.rayAt(x, y);
    const was = this.partGroup.visible;
    this.partGroup.visible = true;
    this.work.updateMatrixWorld(true);
    const hit = ray.intersectObject(this.partGroup.userData.mesh, false)[0];
    this.partGroup.visible = was;
    return hit ? this.partData.arrays.points[4 * hit.face.a + 3] : -1;
  }

  rayAt(x, y) {
    const box = this.canvas.getBoundingClientRect(), ray = new Raycaster();
    ray.setFromCamera(new Vector2(2 * (x - box.left) / box.width - 1, 1 - 2 * (y - box.top) / box.height), this.camera);
    return ray;
  }

  turn(yaw, pitch) {
    this.view.yaw += yaw;
    this.view.pitch = Math.max(-UPRIGHT, Math.min(UPRIGHT, this.view.pitch + pitch));
    this.changed();
  }

  walk(right, up) {
    const scale = 2 * this.reach / this.view.zoom / Math.min(this.canvas.clientWidth, this.canvas.clientHeight);
    const move = new Vector3(right * scale, up * scale, 0).applyQuaternion(this.camera.quaternion);
    this.view.aim.add(move);
    this.changed();
  }

  act(name) {
    const zoomed = (ratio) => { this.view.zoom = Math.max(0.2, Math.min(40, this.view.zoom * ratio)); this.changed(); };
    const acts = {
      left: () => this.turn(-STEP, 0), right: () => this.turn(STEP, 0), up: () => this.turn(0, STEP), down: () => this.turn(0, -STEP),
      larger: () => zoomed(1.2), smaller: () => zoomed(1 / 1.2), door: () => this.fromDoor(),
    };
    acts[name]?.();
  }

  listen() {
    const { canvas } = this, held = new Map();
    let far = 0;
    const keys = { ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down", "+": "larger", "=": "larger", "-": "smaller", Home: "door" };
    const walks = { ArrowLeft: [-30, 0], ArrowRight: [30, 0], ArrowUp: [0, 30], ArrowDown: [0, -30] };
    canvas.addEventListener("keydown", (event) => {
      if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      if (event.shiftKey && walks[event.key]) this.walk(...walks[event.key]); else this.act(keys[event.key]);
    });
    canvas.addEventListener("pointerdown", (event) => {
      if (!held.size) far = 0;
      held.set(event.pointerId, { x: event.clientX, y: event.clientY });
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      const was = held.get(event.pointerId);
      if (!was) return;
      const right = event.clientX - was.x, down = event.clientY - was.y;
      far += Math.abs(right) + Math.abs(down);
      const [one, two] = [...held.values()];
      const apart = two && Math.hypot(one.x - two.x, one.y - two.y);
      Object.assign(was, { x: event.clientX, y: event.clientY });
      if (two) {
        this.view.zoom = Math.max(0.2, Math.min(40, this.view.zoom * Math.hypot(one.x - two.x, one.y - two.y) / (apart || 1)));
        this.walk(-right / 2, down / 2);
      } else if (event.buttons === 2 || event.shiftKey) this.walk(-right, down);
      else this.turn(-right * 0.008, down * 0.008);
    });
    const let_go = (event) => {
      const tapped = held.has(event.pointerId) && held.size === 1 && far < 5;
      held.delete(event.pointerId);
      if (tapped && event.type === "pointerup" && event.button === 0) this.onFace(this.faceAt(event.clientX, event.clientY), event.shiftKey);
    };
    canvas.addEventListener("pointerup", let_go);
    canvas.addEventListener("pointercancel", let_go);
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("wheel", (event) => { event.preventDefault(); this.act(event.deltaY < 0 ? "larger" : "smaller"); }, { passive: false });
    canvas.addEventListener("webglcontextlost", (event) => event.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => this.changed());
  }
}
