// Where the eye is: pointer, touch, keys and findings in; a camera that turns about a point out.

import { Spherical, Vector3 } from "three";
import { OrbitControls } from "three/examples/jsm/controls/OrbitControls.js";
import { still } from "./blocks.js";

const WAYS = {
  corner: [0.55, 0.62, 1.0],
  above: [0, 1, 0.0001],
  front: [0, 0.06, 1],
  side: [-1, 0.06, 0],
};
const SECONDS = 0.7;

export class Flight {
  constructor(stage, canvas) {
    this.stage = stage;
    this.flying = false;
    const controls = new OrbitControls(stage.camera, canvas);
    controls.enableDamping = false;
    controls.minDistance = 0.4;
    controls.maxDistance = stage.bounds.getSize(new Vector3()).length() * 4;
    controls.enableZoom = false;
    controls.addEventListener("change", () => stage.draw());
    controls.addEventListener("start", () => this.stop());
    // The wheel scrolls the page until the view has been taken up, or with Ctrl held (a pinch).
    canvas.addEventListener(
      "wheel",
      (event) => {
        if (document.activeElement !== canvas && !event.ctrlKey) return;
        event.preventDefault();
        this.nearer(Math.exp(event.deltaY * (event.ctrlKey ? 0.01 : 0.0012)));
      },
      { passive: false },
    );
    canvas.addEventListener("pointerdown", (event) => {
      controls.enableZoom = event.pointerType === "touch";
    });
    this.controls = controls;
  }

  fit(way) {
    const { bounds, camera } = this.stage;
    const middle = bounds.getCenter(new Vector3());
    const back = new Vector3(...way).normalize();
    const right = new Vector3(0, 1, 0).cross(back).normalize();
    const up = back.clone().cross(right);
    const tall = Math.tan((camera.fov * Math.PI) / 360);
    const wide = tall * camera.aspect;
    let far = 0;
    for (let k = 0; k < 8; k += 1) {
      const corner = new Vector3(
        k & 1 ? bounds.max.x : bounds.min.x,
        k & 2 ? bounds.max.y : bounds.min.y,
        k & 4 ? bounds.max.z : bounds.min.z,
      ).sub(middle);
      const out = Math.max(Math.abs(corner.dot(right)) / wide, Math.abs(corner.dot(up)) / tall);
      far = Math.max(far, out + corner.dot(back));
    }
    return { target: middle, eye: middle.clone().addScaledVector(back, far * 1.08) };
  }

  home(fly = true) {
    this.look("corner", fly);
  }

  look(way, fly = true) {
    const { eye, target } = this.fit(WAYS[way]);
    this.go(eye, target, fly);
  }

  near(point, reach) {
    const target = new Vector3(...point);
    const back = new Vector3(0.62, 0.55, 1).normalize();
    const narrow = Math.min(this.stage.camera.aspect, 1);
    this.go(target.clone().addScaledVector(back, (reach * 2.7) / narrow), target, true);
  }

  go(eye, target, fly) {
    this.stop();
    const { camera } = this.stage;
    if (!fly || still()) {
      camera.position.copy(eye);
      this.controls.target.copy(target);
      this.controls.update();
      this.stage.draw();
      return;
    }
    const from = new Spherical().setFromVector3(camera.position.clone().sub(this.controls.target));
    const to = new Spherical().setFromVector3(eye.clone().sub(target));
    const turn = ((to.theta - from.theta + Math.PI * 3) % (Math.PI * 2)) - Math.PI;
    const start = this.controls.target.clone();
    this.flying = true;
    let began = null;
    const step = (now) => {
      began ??= now;
      const t = Math.min((now - began) / 1000 / SECONDS, 1);
      const s = t * t * (3 - 2 * t);
      const at = new Spherical(
        from.radius * (to.radius / from.radius) ** s,
        from.phi + (to.phi - from.phi) * s,
        from.theta + turn * s,
      );
      this.controls.target.copy(start).lerp(target, s);
      camera.position.setFromSpherical(at).add(this.controls.target);
      this.controls.update();
      this.stage.draw();
      if (t < 1) this.frame = requestAnimationFrame(step);
      else this.flying = false;
    };
    this.frame = requestAnimationFrame(step);
  }

  stop() {
    cancelAnimationFrame(this.frame);
    this.flying = false;
  }

  nearer(factor) {
    this.stop();
    const { camera } = this.stage;
    const off = camera.position.clone().sub(this.controls.target);
    const { minDistance, maxDistance } = this.controls;
    off.setLength(Math.min(Math.max(off.length() * factor, minDistance), maxDistance));
    camera.position.copy(this.controls.target).add(off);
    this.controls.update();
    this.stage.draw();
  }

  turn(across, up) {
    this.stop();
    const { camera } = this.stage;
    const at = new Spherical().setFromVector3(camera.position.clone().sub(this.controls.target));
    at.theta += across;
    at.phi = Math.min(Math.max(at.phi + up, 0.001), Math.PI - 0.001);
    camera.position.setFromSpherical(at).add(this.controls.target);
    this.controls.update();
    this.stage.draw();
  }

  shift(across, up) {
    this.stop();
    const { camera } = this.stage;
    const reach = camera.position.distanceTo(this.controls.target) * 0.06;
    const by = new Vector3().setFromMatrixColumn(camera.matrix, 0).multiplyScalar(across * reach);
    by.addScaledVector(new Vector3().setFromMatrixColumn(camera.matrix, 1), up * reach);
    camera.position.add(by);
    this.controls.target.add(by);
    this.controls.update();
    this.stage.draw();
  }
}
