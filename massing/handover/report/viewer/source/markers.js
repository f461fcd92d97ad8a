// Numbers on the picture: findings in, discs kept beside their places and off one another out.

import { Vector3 } from "three";

const APART = 30;

export class Markers {
  constructor(stage, layer, findings) {
    this.stage = stage;
    this.marks = findings
      .filter((finding) => finding.at)
      .map((finding) => {
        const disc = layer.querySelector(`[data-mark="${finding.number}"]`);
        const dot = layer.querySelector(`[data-dot="${finding.number}"]`);
        return { finding, disc, dot, at: new Vector3(...finding.at) };
      });
    this.layer = layer;
  }

  place() {
    const { width, height } = this.stage;
    const spots = this.marks.map((mark) => {
      const at = this.stage.project(mark.at);
      return { mark, x: at.x, y: at.y - 26, ax: at.x, ay: at.y, behind: at.behind };
    });
    for (let round = 0; round < 30; round += 1) {
      let moved = false;
      for (let i = 0; i < spots.length; i += 1) {
        for (let j = 0; j < i; j += 1) {
          const dx = spots[i].x - spots[j].x || 0.01 * (i - j);
          const dy = spots[i].y - spots[j].y;
          const far = Math.hypot(dx, dy);
          if (far >= APART) continue;
          const push = (APART - far) / 2 / far;
          spots[i].x += dx * push;
          spots[i].y += dy * push;
          spots[j].x -= dx * push;
          spots[j].y -= dy * push;
          moved = true;
        }
      }
      if (!moved) break;
    }
    for (const spot of spots) {
      const { disc, dot } = spot.mark;
      const gone = this.stage.cut !== null && spot.mark.at.y > this.stage.cut + 1e-6;
      const out = gone || spot.behind || spot.ax < 0 || spot.ax > width || spot.ay < 0 || spot.ay > height;
      disc.hidden = dot.hidden = out;
      const x = Math.min(Math.max(spot.x, 16), width - 16);
      const y = Math.min(Math.max(spot.y, 16), height - 16);
      disc.style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px) translate(-50%, -50%)`;
      dot.style.transform = `translate(${spot.ax.toFixed(1)}px, ${spot.ay.toFixed(1)}px) translate(-50%, -50%)`;
    }
  }

  choose(number) {
    for (const { finding, disc, dot } of this.marks) {
      disc.classList.toggle("chosen", finding.number === number);
      for (const mark of [disc, dot]) mark.classList.toggle("away", number !== null && finding.number !== number);
    }
  }
}
