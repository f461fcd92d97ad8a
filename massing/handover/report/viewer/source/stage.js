// The lit room: a model in, a drawing on a canvas out; drawn only when something changed.

import {
  AmbientLight,
  Box3,
  BackSide,
  Color,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  FrontSide,
  HemisphereLight,
  LineBasicMaterial,
  LineSegments,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  PCFShadowMap,
  PerspectiveCamera,
  Plane,
  Raycaster,
  Scene,
  Vector2,
  Vector3,
  WebGLRenderer,
} from "three";
import { GLTFLoader } from "three/examples/jsm/loaders/GLTFLoader.js";

const SHELL = new Set(["floor", "wall", "ceiling"]);

export class Stage {
  constructor(canvas, data) {
    this.canvas = canvas;
    this.data = data;
    this.cut = null;
    this.draws = 0;
    this.onDraw = () => {};
    this.groups = new Map(); // shell, ceiling, kept, proposed, zones -> [objects]
    this.items = new Map(); // name as written -> object
    this.paints = [];
    this.clashes = new Map(); // finding number -> object
    this.focus = null;
    this.hovered = null;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true });
    this.renderer.shadowMap.enabled = true;
    this.renderer.shadowMap.type = PCFShadowMap;
    this.scene = new Scene();
    this.camera = new PerspectiveCamera(30, 1.5, 0.02, 200);
    this.plane = new Plane(new Vector3(0, -1, 0), 0);
    this.bounds = new Box3();
    this.ray = new Raycaster();
    this.wanted = false;
    const schemes = window.matchMedia("(prefers-color-scheme: dark)");
    schemes.addEventListener("change", () => this.repaint());
    new ResizeObserver(() => this.resize()).observe(canvas.parentElement);
  }

  async load(model, clashes) {
    const loader = new GLTFLoader();
    const gltf = await loader.parseAsync(model, "");
    this.model = gltf.scene;
    this.animations = gltf.animations;
    this.scene.add(this.model);
    for (const top of this.model.children) {
      const name = top.userData.name_as_written;
      if (!["shell", "kept", "proposed", "zones"].includes(name)) continue;
      this.groups.set(name, [top]);
      for (const child of top.children) {
        const own = child.userData.name_as_written;
        if (name === "zones") continue;
        if (name === "shell" && own === "ceiling") this.groups.set("ceiling", [child]);
        this.items.set(own, child);
      }
    }
    this.model.updateMatrixWorld(true);
    this.bounds.setFromObject(this.model);
    const meshes = [];
    this.model.traverse((object) => object.isMesh && meshes.push(object));
    for (const mesh of meshes) this.dress(mesh);
    if (clashes) {
      const found = await loader.parseAsync(clashes, "");
      for (const node of [...found.scene.children]) {
        this.clashes.set(Number(node.userData.name_as_written), node);
        node.traverse((object) => object.isMesh && this.dressClash(object));
        this.scene.add(node);
      }
    }
    this.light();
    this.repaint();
    this.show();
  }

  groupOf(mesh) {
    let at = mesh;
    while (at.parent && at.parent !== this.model) at = at.parent;
    return at.userData.name_as_written;
  }

  itemOf(mesh) {
    let at = mesh;
    while (at.parent && at.parent.parent !== this.model) at = at.parent;
    return at;
  }

  dress(mesh) {
    const kind = mesh.userData.kind;
    const group = this.groupOf(mesh);
    const shell = group === "shell" && SHELL.has(kind);
    const zone = group === "zones";
    const colour = mesh.material.color.clone();
    const alpha = mesh.material.opacity;
    const material = new MeshLambertMaterial({
      color: colour,
      transparent: alpha < 1,
      opacity: alpha,
      side: FrontSide,
      depthWrite: alpha >= 1,
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 1,
    });
    mesh.material = material;
    mesh.castShadow = !shell && !zone && alpha >= 1;
    mesh.receiveShadow = !zone;
    if (zone) mesh.renderOrder = 3;
    const edges = new LineSegments(
      new EdgesGeometry(mesh.geometry, 25),
      new LineBasicMaterial({ transparent: true, opacity: 1 }),
    );
    edges.raycast = () => {};
    mesh.add(edges);
    const paint = { mesh, kind, group, shell, zone, colour, alpha, material, edges };
    if (shell) {
      // Faces look into the room, so walls nearest the eye drop away; a breath of them stays.
      paint.ghost = new Mesh(
        mesh.geometry,
        new MeshBasicMaterial({ side: BackSide, transparent: true, opacity: 0.07, depthWrite: false }),
      );
    } else if (!zone && alpha >= 1) {
      // Seen where a cut opens a body: its far faces in one flat tone read as the cut itself.
      paint.poche = new Mesh(mesh.geometry, new MeshBasicMaterial({ side: BackSide }));
      paint.poche.visible = false;
    }
    for (const extra of [paint.ghost, paint.poche]) {
      if (!extra) continue;
      extra.raycast = () => {};
      mesh.add(extra);
    }
    mesh.userData.paint = paint;
    this.paints.push(paint);
  }

  dressClash(mesh) {
    mesh.material = new MeshBasicMaterial({
      transparent: true,
      opacity: 0.9,
      side: DoubleSide,
      polygonOffset: true,
      polygonOffsetFactor: -2,
      polygonOffsetUnits: -2,
    });
    mesh.renderOrder = 2;
    mesh.raycast = () => {};
  }

  light() {
    const size = this.bounds.getSize(new Vector3());
    const middle = this.bounds.getCenter(new Vector3());
    const reach = size.length();
    this.sky = new HemisphereLight(0xffffff, 0xb9a98f, 1.5);
    this.fill = new AmbientLight(0xffffff, 0.75);
    const sun = new DirectionalLight(0xfff4e2, 1.9);
    sun.position.set(middle.x - reach * 0.35, middle.y + reach, middle.z + reach * 0.55);
    sun.target.position.copy(middle);
    sun.castShadow = true;
    sun.shadow.mapSize.set(2048, 2048);
    sun.shadow.radius = 3;
    sun.shadow.normalBias = 0.012;
    Object.assign(sun.shadow.camera, {
      left: -reach / 2, right: reach / 2, top: reach / 2, bottom: -reach / 2, near: 0.1, far: reach * 2.4,
    });
    this.sun = sun;
    this.scene.add(this.sky, this.fill, sun, sun.target);
  }

  /** Take the tones from the page, so that light and dark are said once, in the style sheet. */
  repaint() {
    const style = getComputedStyle(document.documentElement);
    const tones = new Map();
    const tone = (name) => {
      if (!tones.has(name)) tones.set(name, new Color(style.getPropertyValue(name).trim()));
      return tones.get(name);
    };
    const ink = tone("--ink");
    const alarm = tone("--conflict");
    const lit = this.focus ? new Set(this.focus.items) : null;
    for (const paint of this.paints) {
      const { mesh, material, edges } = paint;
      const item = this.itemOf(mesh);
      const name = item.userData.item && paint.zone ? item.userData.item : item.userData.name_as_written;
      const written = item.userData.name_as_written.replace(/ zones$/, "");
      const involved = lit && (lit.has(name) || (paint.zone && lit.has(written)));
      const away = lit && !involved && !paint.shell;
      const hot = this.hovered === item && !paint.shell;
      material.color.copy(paint.shell ? tone(`--room-${paint.kind}`) : paint.colour);
      const faint = paint.alpha < 1 || Boolean(away);
      if (material.transparent !== faint) material.needsUpdate = true;
      material.transparent = faint;
      material.opacity = away ? Math.min(paint.alpha, paint.zone ? 0.03 : 0.14) : paint.alpha;
      material.depthWrite = !material.transparent;
      material.emissive.copy(hot ? paint.colour : new Color(0)).multiplyScalar(hot ? 0.28 : 1);
      mesh.castShadow = !paint.shell && !paint.zone && paint.alpha >= 1 && !away;
      edges.material.color.copy(involved ? alarm : ink);
      edges.material.opacity = hot || involved ? 1 : away ? 0.16 : paint.shell ? 0.4 : paint.zone ? 0.3 : 0.75;
      if (paint.ghost) paint.ghost.material.color.copy(ink);
      if (paint.poche) {
        paint.poche.material.color.copy(ink);
        paint.poche.visible = this.cut !== null && !away;
      }
    }
    for (const [number, node] of this.clashes) {
      node.visible = !this.focus || this.focus.number === number;
      node.traverse((object) => object.isMesh && object.material.color.copy(alarm));
    }
    const dark = window.matchMedia("(prefers-color-scheme: dark)").matches;
    if (this.sun) {
      this.sun.intensity = dark ? 1.35 : 1.9;
      this.sky.intensity = dark ? 1.0 : 1.5;
      this.sky.groundColor.set(dark ? 0x50483c : 0xb9a98f);
    }
    this.draw();
  }

  show() {
    for (const [name, objects] of this.groups) {
      const box = document.querySelector(`input[data-group="${name}"]`);
      for (const object of objects) object.visible = !box || box.checked;
    }
    this.draw();
  }

  setCut(height) {
    this.cut = height;
    this.plane.constant = height ?? 0;
    this.renderer.clippingPlanes = height === null ? [] : [this.plane];
    this.repaint();
  }

  light_up(finding) {
    this.focus = finding;
    this.repaint();
  }

  hover(item) {
    if (item === this.hovered) return;
    this.hovered = item;
    this.repaint();
  }

  litNames() {
    return this.focus ? [...this.focus.items] : [];
  }

  visibleMeshes() {
    const names = [];
    this.model.traverseVisible((object) => object.userData.paint && names.push(object.name));
    return names;
  }

  /** The item under a place on the canvas, or null; what a cut took away cannot be pointed at. */
  pick(x, y) {
    const at = new Vector2((x / this.width) * 2 - 1, 1 - (y / this.height) * 2);
    this.ray.setFromCamera(at, this.camera);
    const hits = this.ray.intersectObject(this.model, true);
    for (const hit of hits) {
      if (this.cut !== null && hit.point.y > this.cut + 1e-6) continue;
      const paint = hit.object.userData.paint;
      if (!paint || paint.zone || !this.shown(hit.object)) continue;
      if (paint.shell) return null;
      return this.itemOf(hit.object);
    }
    return null;
  }

  shown(object) {
    for (let at = object; at; at = at.parent) if (!at.visible) return false;
    return true;
  }

  middleOf(item) {
    return new Box3().setFromObject(item).getCenter(new Vector3());
  }

  project(point) {
    const at = point.clone().project(this.camera);
    return { x: ((at.x + 1) / 2) * this.width, y: ((1 - at.y) / 2) * this.height, behind: at.z > 1 };
  }

  pixelOf(name) {
    const item = this.items.get(name);
    if (!item) return null;
    const box = this.canvas.getBoundingClientRect();
    const at = this.project(this.middleOf(item));
    return { x: at.x + box.left, y: at.y + box.top };
  }

  resize() {
    const box = this.canvas.parentElement.getBoundingClientRect();
    if (!box.width || !box.height) return;
    this.width = box.width;
    this.height = box.height;
    this.renderer.setPixelRatio(Math.min(window.devicePixelRatio || 1, 2));
    this.renderer.setSize(box.width, box.height, false);
    this.camera.aspect = box.width / box.height;
    this.camera.updateProjectionMatrix();
    this.draw();
  }

  draw() {
    if (this.wanted) return;
    this.wanted = true;
    requestAnimationFrame(() => {
      this.wanted = false;
      if (!this.width) return;
      this.renderer.render(this.scene, this.camera);
      this.draws += 1;
      this.onDraw();
    });
  }
}
