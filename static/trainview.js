import { arborDeg, arborName } from "./motion.js";
import { sheetOf, wipe, write } from "./metal.js";
import { say } from "./say.js";

/**
 * The wheels from the great wheel to the governor, each on its arbor with the pinion that the one before drives. Their speeds are the
 * drive's; sizes and teeth are a sketch, since a ratio does not tell them.
 *
 * @typedef {import("./motion.js").Motion} Motion
 * @typedef {import("./metal.js").Sheet} Sheet
 * @typedef {import("./metal.js").Colours} Colours
 */

const RAD = Math.PI / 180;
/** A wheel that turns further than this from one frame to the next is drawn as a blur; an eye would see it stand or run back. */
const MOST_DEG = 30;
const SPOKES = 5;
/** Beneath wheels of at least this radius stand their names; the table has them too. */
const NAMED_PX = 70;

export class TrainView {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {Motion} motion
   * @param {number} width
   * @param {Colours} colours
   */
  constructor(canvas, motion, width, colours) {
    const n = motion.scene.rpm.length;
    // Wheel and next pinion mesh, so that the wheels overlap as in a movement; the pinion is a fifth of the wheel.
    const radius = Math.min(84, (width - 12) / (1.2 * (n - 1) + 2));
    this.motion = motion;
    this.colours = colours;
    this.radius = radius;
    this.sheet = sheetOf(canvas, width, Math.ceil(2 * radius + (radius < NAMED_PX ? 30 : 64)));
    this.first = 6 + radius;
    this.names = motion.scene.rpm.map((_, i) => arborName(motion.scene, i));
  }

  /**
   * @param {number} turned  angle of the cylinder, all its turns
   * @param {number} frameMs  of the movement's time from one frame to the next, 0 while it is held
   */
  draw(turned, frameMs) {
    const { motion, colours, radius, sheet, first, names } = this;
    const { ctx } = sheet;
    const { rpm, turnMs, cylinderArbor, turnsUp } = motion.scene;
    const ms = (turned / 360) * turnMs;
    const y = radius + 2;
    wipe(sheet);
    for (let i = 0; i < rpm.length; i++) {
      const x = first + 1.2 * radius * i;
      const way = ((i - cylinderArbor) % 2 === 0) === turnsUp ? 1 : -1; // the cylinder's as in the view of its end
      const deg = way * (arborDeg(rpm[i], ms) % 360);
      const blurred = arborDeg(rpm[i], frameMs) > MOST_DEG;
      if (i === rpm.length - 1 && i > 0) this.vanes(x, y, deg, blurred);
      else this.wheel(x, y, deg, blurred);
      if (i > 0) this.pinion(x, y, deg, blurred);
      if (i === cylinderArbor) {
        ctx.strokeStyle = colours("ink");
        ctx.lineWidth = 1.5;
        ctx.setLineDash([3, 3]);
        ctx.beginPath();
        ctx.arc(x, y, 0.36 * radius, 0, 7);
        ctx.stroke();
        ctx.setLineDash([]);
      }
      write(ctx, String(i + 1), x, 2 * radius + 22, colours("ink"), { align: "center", bold: true });
      if (radius < NAMED_PX) continue;
      write(ctx, names[i], x, 2 * radius + 39, colours("ink"), { align: "center" });
      write(ctx, say("{1} rev/min", rpm[i].toPrecision(4)), x, 2 * radius + 56, colours("muted"), { align: "center" });
    }
  }

  /** @param {number} x @param {number} y @param {number} deg @param {boolean} blurred */
  wheel(x, y, deg, blurred) {
    const { sheet: { ctx }, radius: r, colours } = this;
    ctx.save();
    ctx.translate(x, y);
    ctx.rotate(deg * RAD);
    ctx.lineWidth = 1;
    ctx.strokeStyle = colours("brass");
    ctx.fillStyle = colours("brass-b");
    const teeth = Math.max(20, Math.round(r * 0.8));
    ctx.beginPath();
    if (blurred) ctx.arc(0, 0, 0.97 * r, 0, 7);
    else {
      for (let t = 0; t < teeth; t++) {
        for (const [part, at] of [[0, 0.93], [0.25, 1], [0.5, 1], [0.75, 0.93]]) {
          const a = ((t + part) / teeth) * 2 * Math.PI;
          ctx.lineTo(at * r * Math.cos(a), at * r * Math.sin(a));
        }
      }
      ctx.closePath();
    }
    // Between the spokes one looks through.
    if (!blurred) {
      for (let s = 0; s < SPOKES; s++) {
        const [a, b] = [(s + 0.12) * 72 * RAD, (s + 0.88) * 72 * RAD];
        ctx.moveTo(0.78 * r * Math.cos(a), 0.78 * r * Math.sin(a));
        ctx.arc(0, 0, 0.78 * r, a, b);
        const [c, d] = [(s + 0.3) * 72 * RAD, (s + 0.7) * 72 * RAD];
        ctx.arc(0, 0, 0.3 * r, d, c, true);
        ctx.closePath();
      }
    }
    ctx.globalAlpha = blurred ? 0.5 : 1;
    ctx.fill("evenodd");
    ctx.globalAlpha = 1;
    ctx.stroke();
    if (blurred) {
      for (const part of [0.3, 0.55, 0.78]) {
        ctx.globalAlpha = 0.35;
        ctx.beginPath();
        ctx.arc(0, 0, part * r, 0, 7);
        ctx.stroke();
      }
      ctx.globalAlpha = 1;
    } else {
      ctx.fillStyle = colours("ink"); // one mark, so that a turn can be counted
      ctx.beginPath();
      ctx.arc(0.855 * r, 0, Math.max(1.5, 0.045 * r), 0, 7);
      ctx.fill();
    }
    ctx.restore();
  }

  /** @param {number} x @param {number} y @param {number} deg @param {boolean} blurred */
  pinion(x, y, deg, blurred) {
    const { sheet: { ctx }, radius: r, colours } = this;
    ctx.save();
    ctx.translate(x, y);
    ctx.rotate(deg * RAD);
    ctx.fillStyle = colours("steel-b");
    ctx.strokeStyle = colours("steel-c");
    ctx.beginPath();
    for (let t = 0; t < 16; t++) {
      const at = (blurred ? 0.2 : t % 2 === 0 ? 0.24 : 0.16) * r;
      ctx.lineTo(at * Math.cos((t * Math.PI) / 8), at * Math.sin((t * Math.PI) / 8));
    }
    ctx.closePath();
    ctx.fill();
    ctx.stroke();
    ctx.restore();
  }

  /** The air brake. @param {number} x @param {number} y @param {number} deg @param {boolean} blurred */
  vanes(x, y, deg, blurred) {
    const { sheet: { ctx }, radius: r, colours } = this;
    ctx.save();
    ctx.translate(x, y);
    ctx.rotate(deg * RAD);
    ctx.fillStyle = colours("steel-a");
    ctx.strokeStyle = colours("steel-c");
    if (blurred) {
      ctx.globalAlpha = 0.3;
      ctx.beginPath();
      ctx.arc(0, 0, 0.85 * r, 0, 7);
      ctx.fill();
      ctx.globalAlpha = 1;
      for (const part of [0.85, 0.45]) {
        ctx.beginPath();
        ctx.arc(0, 0, part * r, 0, 7);
        ctx.stroke();
      }
    } else {
      for (const way of [1, -1]) {
        ctx.beginPath();
        ctx.rect(way * 0.4 * r, -0.2 * r, way * 0.45 * r, 0.4 * r);
        ctx.fill();
        ctx.stroke();
        ctx.fillRect(way > 0 ? 0 : -0.4 * r, -0.035 * r, 0.4 * r, 0.07 * r);
      }
      ctx.fillStyle = colours("stamp");
      ctx.beginPath();
      ctx.arc(0.72 * r, 0, Math.max(1.5, 0.05 * r), 0, 7);
      ctx.fill();
    }
    ctx.restore();
  }
}
