import { QUICK_HZ, firstFrom, roundCircle, toothAt } from "./motion.js";
import { lay, sheetOf, spareSheet, trace, wipe, write } from "./metal.js";
import { say } from "./say.js";

/**
 * The comb and the surface that passes under it, unrolled, as on the drawing of the page: the comb to the left, the angle to the right. A
 * pin meets its tip at the right of two lines and lets it go at the left one. Light falls from the upper left, so that a tooth's
 * shadow leaves it as far as it is lifted.
 *
 * @typedef {import("./motion.js").Motion} Motion
 * @typedef {import("./motion.js").ToothState} ToothState
 * @typedef {import("./metal.js").Sheet} Sheet
 * @typedef {import("./metal.js").Colours} Colours
 */

/** Narrower pins than this are drawn as points. */
const POINT_PX = 2.4;
/** The surface is kept in pieces about this wide, so many at a time, whatever the cylinder's size. */
const PIECE_PX = 512;
const MOST_PIECES = 6;
const MARGIN = 16;
const TOP = 26;
const FOOT = 30;

export class FrontView {
  /**
   * @param {HTMLCanvasElement} canvas
   * @param {Motion} motion
   * @param {number} tooth  the one that is chosen
   * @param {number} width
   * @param {Colours} colours
   */
  constructor(canvas, motion, tooth, width, colours) {
    const { scene } = motion;
    const n = Math.max(1, scene.teeth.length);
    const height = Math.round(Math.min(640, Math.max(Math.min(440, Math.max(280, 0.8 * width)), n * 4.2 + TOP + FOOT)));
    const bottom = height - FOOT;
    const edge = Math.max(0.9 * scene.spacingMm, 1);
    const pxPerMm = Math.min(36, (bottom - TOP) / ((n - 1) * scene.spacingMm + 2 * edge));
    const middle = (TOP + bottom) / 2;
    const half = (((n - 1) * scene.spacingMm) / 2 + edge) * pxPerMm;
    const combPx = Math.round(Math.min(200, 0.36 * width));
    this.motion = motion;
    this.tooth = tooth;
    this.colours = colours;
    this.sheet = sheetOf(canvas, width, height);
    this.step = scene.spacingMm * pxPerMm;
    this.pxPerMm = pxPerMm;
    this.pxPerDeg = (scene.circumferenceMm * pxPerMm) / 360;
    this.top = middle - half;
    this.bottom = middle + half;
    this.comb = combPx;
    /** Where a pin lets go, and where it meets the tip. */
    this.release = combPx - Math.max(6, motion.contactDeg * this.pxPerDeg);
    this.contact = this.release + motion.contactDeg * this.pxPerDeg;
    /** @param {number} t */
    this.yOf = (t) => middle + (scene.bassBottom ? -1 : 1) * (t - (n + 1) / 2) * scene.spacingMm * pxPerMm;
    const lowest = Math.min(...scene.teeth.map((t) => t.hz));
    this.long = scene.teeth.map((t) => (this.contact - 56) * Math.sqrt(lowest / t.hz));
    /** @type {Map<number, Sheet>} */
    this.pieces = new Map();
    this.dome = this.drawDome();
    this.brass = this.drawBrass();
    this.plate = this.drawPlate();
  }

  /** The tooth at a height of the picture. @param {number} y @returns {number} 0 where there is none */
  toothNear(y) {
    const { motion, yOf, step } = this;
    const near = motion.scene.teeth.findIndex((_, i) => Math.abs(yOf(i + 1) - y) <= step / 2);
    return near + 1;
  }

  drawDome() {
    const { motion, colours, pxPerMm } = this;
    const r = Math.max(1.2, (motion.scene.pinMm * pxPerMm) / 2);
    const dome = spareSheet(2 * r + 6, 2 * r + 6);
    const { ctx } = dome;
    ctx.translate(r + 2, r + 2);
    ctx.globalAlpha = 0.34;
    ctx.fillStyle = colours("shadow");
    ctx.beginPath();
    ctx.arc(1.2, 1.6, r + 0.3, 0, 7);
    ctx.fill();
    ctx.globalAlpha = 1;
    const light = ctx.createRadialGradient(-0.3 * r, -0.4 * r, 0, 0, 0, 1.2 * r);
    light.addColorStop(0, colours("dome-a"));
    light.addColorStop(0.45, colours("dome-b"));
    light.addColorStop(1, colours("dome-c"));
    ctx.fillStyle = light;
    ctx.strokeStyle = colours("dome-edge");
    ctx.lineWidth = Math.min(0.7, 0.2 * r);
    ctx.beginPath();
    ctx.arc(0, 0, r, 0, 7);
    ctx.fill();
    ctx.stroke();
    return { sheet: dome, r };
  }

  /** The brass where nothing stands on it: it is the same all round. */
  drawBrass() {
    const { motion, tooth, colours, sheet, top, bottom, release, contact, yOf, step } = this;
    const brass = spareSheet(sheet.width, sheet.height);
    const { ctx } = brass;
    const left = this.under();
    const light = ctx.createLinearGradient(left, 0, sheet.width, 0);
    light.addColorStop(0, colours("brass-c"));
    light.addColorStop(0.25, colours("brass-b"));
    light.addColorStop(0.45, colours("brass-a"));
    light.addColorStop(1, colours("brass-c"));
    ctx.fillStyle = light;
    ctx.fillRect(left, top, sheet.width - left, bottom - top);
    ctx.strokeStyle = colours("scribed");
    ctx.lineWidth = 1;
    ctx.globalAlpha = 0.08;
    ctx.beginPath();
    for (let y = top + 1.5; y < bottom; y += 3) {
      ctx.moveTo(left, y);
      ctx.lineTo(sheet.width, y);
    }
    ctx.stroke();
    if (step >= 7) {
      ctx.globalAlpha = 0.3;
      ctx.beginPath();
      motion.scene.teeth.forEach((_, i) => {
        ctx.moveTo(left, Math.round(yOf(i + 1)) + 0.5);
        ctx.lineTo(sheet.width, Math.round(yOf(i + 1)) + 0.5);
      });
      ctx.stroke();
    }
    ctx.globalAlpha = 1;
    ctx.strokeStyle = colours("brass");
    ctx.lineWidth = 1.5;
    ctx.strokeRect(left, top, sheet.width - left + 2, bottom - top);
    // Where pins meet the tips and let them go.
    ctx.strokeStyle = colours("ink");
    ctx.lineWidth = 1;
    ctx.setLineDash([4, 3]);
    ctx.beginPath();
    for (const x of [release, contact]) {
      ctx.moveTo(Math.round(x) + 0.5, top - 6);
      ctx.lineTo(Math.round(x) + 0.5, bottom + 6);
    }
    ctx.stroke();
    ctx.setLineDash([]);
    write(ctx, say("lets go"), release - 3, top - 9, colours("ink"), { align: "right" });
    write(ctx, say("pin meets tip"), contact + 3, top - 9, colours("ink"));
    if (tooth <= motion.scene.teeth.length) {
      ctx.fillStyle = colours("ink");
      ctx.globalAlpha = 0.1;
      ctx.fillRect(left, yOf(tooth) - step / 2, sheet.width - left, step);
    }
    return brass;
  }

  /** Where the surface ends under the teeth. */
  under() {
    const { release } = this;
    return Math.round(Math.max(0.7 * release, release - 28));
  }

  /** The comb's body, which no pin moves. */
  drawPlate() {
    const { motion, tooth, colours, sheet, yOf, step, contact } = this;
    const plate = spareSheet(sheet.width, sheet.height);
    const { ctx } = plate;
    const { teeth, bassBottom } = motion.scene;
    if (teeth.length === 0) return plate;
    const side = ((bassBottom ? -1 : 1) * step) / 2;
    const first = yOf(1) - 1.5 * side;
    const last = yOf(teeth.length) + 1.5 * side;
    const points = [4, first];
    teeth.forEach((_, i) => {
      const root = contact - this.long[i];
      points.push(root, i === 0 ? first : yOf(i + 1) - side, root, i === teeth.length - 1 ? last : yOf(i + 1) + side);
    });
    points.push(4, last);
    const steel = ctx.createLinearGradient(0, 0, contact, sheet.height);
    steel.addColorStop(0, colours("steel-d"));
    steel.addColorStop(0.45, colours("steel-a"));
    steel.addColorStop(1, colours("steel-b"));
    ctx.fillStyle = steel;
    trace(ctx, points);
    ctx.closePath();
    ctx.fill();
    let stamped = -Infinity;
    teeth.forEach((t, i) => {
      const y = yOf(i + 1);
      if (Math.abs(y - stamped) < 12 && i + 1 !== tooth) return;
      if (Math.abs(y - yOf(tooth)) < 12 && i + 1 !== tooth) return;
      stamped = y;
      write(ctx, t.note, 10, y + 4, colours("stamp"), { size: 11, bold: true });
    });
    if (tooth <= teeth.length) {
      const x = ctx.measureText(teeth[tooth - 1].note).width > 23 ? 2 : 34; // before a long name
      ctx.fillStyle = colours("stamp");
      trace(ctx, [x, yOf(tooth) - 4, x + 7, yOf(tooth), x, yOf(tooth) + 4]);
      ctx.fill();
    }
    return plate;
  }

  /**
   * A piece of the surface with its pins, which overhang it by a margin.
   * @param {number} k  from the datum line
   * @param {number} each  degrees of a piece
   */
  piece(k, each) {
    const { motion, colours, sheet, pxPerDeg, yOf, dome, pieces } = this;
    const kept = pieces.get(k);
    if (kept) return kept;
    const { deg, tooth } = motion.scene.pins;
    const piece = spareSheet(each * pxPerDeg + 2 * MARGIN, sheet.height);
    const { ctx } = piece;
    ctx.fillStyle = colours("dome-c");
    const from = firstFrom(deg, k * each);
    const to = k * each + each >= 360 ? deg.length : firstFrom(deg, (k + 1) * each);
    const { width, height } = dome.sheet;
    const size = Math.max(1, 1.6 * dome.r);
    for (let i = from; i < to; i++) {
      const [x, y] = [MARGIN + (deg[i] - k * each) * pxPerDeg, yOf(tooth[i])];
      if (2 * dome.r < POINT_PX) ctx.fillRect(x - size / 2, y - size / 2, size, size);
      else ctx.drawImage(dome.sheet.ctx.canvas, x - dome.r - 2, y - dome.r - 2, width, height);
    }
    if (pieces.size >= MOST_PIECES) pieces.delete(/** @type {number} */ (pieces.keys().next().value));
    pieces.set(k, piece);
    return piece;
  }

  /**
   * @param {number} turned
   * @param {(hz: number) => number} drawnHz  of a vibration as the view is slowed, 0 while it is held
   */
  draw(turned, drawnHz) {
    const { motion, colours, sheet, top, bottom, release, contact, pxPerMm, pxPerDeg, step, yOf, brass, plate } = this;
    const { scene } = motion;
    const { ctx } = sheet;
    wipe(sheet);
    lay(sheet, brass);
    const left = this.under();
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, 0, sheet.width - left, sheet.height);
    ctx.clip();
    const from = turned + (left - release - 8) / pxPerDeg;
    const to = turned + (sheet.width + 8 - release) / pxPerDeg;
    /** @param {number} deg */
    const xOf = (deg) => release + (deg - turned) * pxPerDeg;

    for (let turn = Math.floor(from / 360); turn * 360 <= to + scene.gapDeg; turn++) {
      const datum = xOf(360 * turn);
      const gap = (scene.gapDeg / 2) * pxPerDeg;
      ctx.globalAlpha = 0.6;
      ctx.fillStyle = colours("bare");
      ctx.fillRect(datum - gap, top + 1, 2 * gap, bottom - top - 2);
      ctx.globalAlpha = 1;
      ctx.strokeStyle = colours("ink");
      ctx.lineWidth = 1.5;
      ctx.beginPath();
      ctx.moveTo(datum, top - 4);
      ctx.lineTo(datum, bottom + 4);
      ctx.stroke();
    }
    this.scale(from, to, xOf);

    const pieces = Math.ceil((360 * pxPerDeg) / PIECE_PX);
    const each = 360 / pieces;
    for (let k = Math.floor(from / each); k * each <= to; k++) lay(sheet, this.piece(((k % pieces) + pieces) % pieces, each), xOf(k * each) - MARGIN, 0);
    ctx.restore();

    // What the teeth throw on the brass, then the teeth; those alike in one stroke.
    const states = scene.teeth.map((_, i) => toothAt(motion, i + 1, turned));
    const fall = Math.max(pxPerMm, 3 / scene.liftMm);
    const [shadows, swings, quick, steady, up] = [0, 0, 0, 0, 0].map(() => new Path2D());
    states.forEach((s, i) => {
      this.outline(shadows, i, 1.5 + fall * s.liftMm);
      if (s.swingMm * fall > 0.5) for (const way of [-0.7, 0.7]) this.outline(swings, i, way * s.swingMm * fall);
      const blurred = s.swingMm > 0 && drawnHz(scene.teeth[i].hz) > QUICK_HZ;
      if (s.doing === "lifted") this.outline(up, i, -0.35 * s.liftMm * fall);
      else this.outline(blurred ? quick : steady, i, blurred ? 0 : 0.7 * s.tipMm * fall);
    });
    ctx.fillStyle = colours("shadow");
    ctx.globalAlpha = 0.4;
    ctx.fill(shadows);
    ctx.lineWidth = 0.9;
    ctx.strokeStyle = colours("steel");
    ctx.fillStyle = colours("steel-d");
    ctx.globalAlpha = 0.22;
    ctx.fill(swings);
    ctx.globalAlpha = 0.85;
    ctx.stroke(swings);
    const steel = ctx.createLinearGradient(56, 0, contact, 0);
    steel.addColorStop(0, colours("steel-a"));
    steel.addColorStop(0.55, colours("steel-b"));
    steel.addColorStop(1, colours("steel-c"));
    ctx.fillStyle = steel;
    ctx.globalAlpha = 0.75;
    ctx.fill(quick);
    ctx.globalAlpha = 1;
    ctx.fill(steady);
    ctx.fill(up);
    ctx.strokeStyle = colours("stamp");
    ctx.lineWidth = step < 8 ? 1 : 1.4;
    ctx.stroke(up);
    ctx.fillStyle = colours("stamp");
    states.forEach((s, i) => {
      if (s.doing !== "lifted" || step < 8) return;
      const x = contact - 0.3 * this.long[i];
      trace(ctx, [x - 4, yOf(i + 1) + 3, x, yOf(i + 1) - 4, x + 4, yOf(i + 1) + 3]);
      ctx.fill();
    });
    lay(sheet, plate);
    write(ctx, say("degrees"), left - 6, bottom + 20, colours("muted"), { align: "right" });
  }

  /**
   * Adds the outline of a tooth whose tip lies off by px toward lower right, and the rest as far as it gives way.
   * @param {Path2D} path
   * @param {number} i  from 0
   * @param {number} off
   */
  outline(path, i, off) {
    const { yOf, step, contact, long } = this;
    const y = yOf(i + 1);
    const x = contact - long[i] - 4;
    const [wide, narrow] = [0.38 * step, 0.24 * step];
    const middle = x + 0.5 * long[i];
    const shoulder = contact - Math.min(8, 0.4 * step) + off;
    path.moveTo(x, y - wide);
    path.lineTo(middle, y - 0.5 * (wide + narrow) + 0.3 * off);
    path.lineTo(shoulder, y - narrow + off);
    path.lineTo(contact + off, y - 0.5 * narrow + off);
    path.lineTo(contact + off, y + 0.5 * narrow + off);
    path.lineTo(shoulder, y + narrow + off);
    path.lineTo(middle, y + 0.5 * (wide + narrow) + 0.3 * off);
    path.lineTo(x, y + wide);
    path.closePath();
  }

  /** Bars above, degrees below. @param {number} from @param {number} to @param {(deg: number) => number} xOf */
  scale(from, to, xOf) {
    const { motion, colours, sheet, top, bottom, pxPerDeg } = this;
    const { ctx } = sheet;
    const each = [1, 2, 5, 10, 15, 30, 45, 90].find((n) => n * pxPerDeg >= 40) ?? 90;
    ctx.strokeStyle = colours("ink");
    ctx.lineWidth = 1;
    ctx.beginPath();
    for (let deg = Math.ceil(from / each) * each; deg <= to; deg += each) {
      ctx.moveTo(xOf(deg), bottom);
      ctx.lineTo(xOf(deg), bottom + 7);
    }
    // Bars where the words about the tips leave room.
    const clear = this.contact + 92;
    let free = clear;
    for (let turn = Math.floor(from / 360); turn * 360 <= to; turn++) {
      for (const bar of motion.scene.bars) {
        const x = xOf(bar.deg + 360 * turn);
        if (bar.deg < 0 || x < clear || x > sheet.width - 12) continue;
        ctx.moveTo(x, top);
        ctx.lineTo(x, top - 7);
        if (x < free) continue;
        free = x + 28;
        write(ctx, String(bar.number), x + 4, top - 4, colours("ink"));
      }
    }
    ctx.stroke();
    for (let deg = Math.ceil(from / each) * each; deg <= to; deg += each) if (xOf(deg) > this.under() + 14) write(ctx, String(roundCircle(deg)), xOf(deg), bottom + 20, colours("ink"), { align: "center" });
  }
}
