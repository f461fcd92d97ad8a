// What turns and slides: the model's animations in, leaves that open to where they can out.

import { AnimationMixer } from "three";
import { still } from "./blocks.js";

const SECONDS = 1.1;

export class Motions {
  constructor(stage) {
    this.stage = stage;
    this.mixer = new AnimationMixer(stage.model);
    this.moves = new Map();
    this.playing = false;
    for (const clip of stage.animations) {
      const action = this.mixer.clipAction(clip);
      action.play();
      action.paused = true;
      const name = clip.userData.name_as_written ?? clip.name;
      this.moves.set(name, { action, length: clip.duration, at: 0, from: 0, to: 0 });
    }
    this.mixer.update(0);
  }

  amounts() {
    return Object.fromEntries([...this.moves].map(([name, move]) => [name, Number(move.at.toFixed(3))]));
  }

  /** Move to a share of the whole way, 0 shut and 1 open. */
  to(name, share) {
    const move = this.moves.get(name);
    if (!move) return;
    move.from = move.at;
    move.to = share;
    if (still()) {
      this.set(move, share);
      return;
    }
    move.began = null;
    if (!this.playing) {
      this.playing = true;
      requestAnimationFrame((now) => this.step(now));
    }
  }

  allTo(share) {
    for (const name of this.moves.keys()) this.to(name, share);
  }

  set(move, share) {
    move.at = share;
    move.action.time = Math.min(share, 0.999999) * move.length;
    this.mixer.update(0);
    this.stage.draw();
  }

  step(now) {
    let left = false;
    for (const move of this.moves.values()) {
      if (move.at === move.to) continue;
      move.began ??= now;
      const t = Math.min((now - move.began) / 1000 / SECONDS, 1);
      this.set(move, t >= 1 ? move.to : move.from + (move.to - move.from) * t * t * (3 - 2 * t));
      left ||= t < 1;
    }
    this.playing = left;
    if (left) requestAnimationFrame((next) => this.step(next));
  }
}
