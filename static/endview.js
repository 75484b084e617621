import { QUICK_HZ, between, damperDeg, toothAt } from "./motion.js";
import { bent, lay, scaleBar, sheetOf, spareSheet, trace, wipe, write } from "./metal.js";
import { say } from "./say.js";
import { length } from "./shown.js";

/**
 * The cylinder from its end, the tooth from its side, and the tip once more under a glass.
 *
 * Drawn in mm, y up, the axis at the origin and the comb to the left: the pin of angle θ stands φ + turned − θ above the comb's plane. The
 * comb is drawn half a pin's diameter higher, where the pin's upper edge meets it. Where the surface next to the comb moves down, all is
 * upside down.
 *
 * @typedef {import("./motion.js").Motion} Motion
 * @typedef {import("./motion.js").ToothState} ToothState
 * @typedef {import("./metal.js").Sheet} Sheet
 * @typedef {import("./metal.js").Colours} Colours
 * @typedef {{ x: number, y: number, pxPerMm: number }} Place  where the origin lies, and the scale
 * @typedef {{ tipX: number, longMm: number, rootMm: number, tipMm: number, leadMm: number, gapMm: number, plateMm: number }} Side  the tooth's shape
 */

const RAD = Math.PI / 180;
/** More pins of other tracks than this under the glass run into a ring. */
const MOST_BESIDE = 80;

export class EndView {
  /**
   * Lays the picture out for a tooth.
   * @param {HTMLCanvasElement} canvas
   * @param {Motion} motion
   * @param {number} tooth
   * @param {number} width
   * @param {Colours} colours
   */
  constructor(canvas, motion, tooth, width, colours) {
    const { scene, radiusMm: r, contactDeg } = motion;
    const height = Math.round(Math.min(440, Math.max(280, 0.88 * width)));
    this.motion = motion;
    this.tooth = tooth;
    this.colours = colours;
    this.sheet = sheetOf(canvas, width, height);
    this.up = scene.turnsUp ? 1 : -1;
    const lowest = Math.min(...scene.teeth.map((t) => t.hz));
    const hz = scene.teeth[tooth - 1]?.hz ?? lowest;
    const longest = Math.min(0.85 * r, 14);
    /** @type {Side} */
    this.side = {
      tipX: -r * Math.cos(contactDeg * RAD) + (scene.pinMm / 2) * Math.sin(contactDeg * RAD),
      longMm: longest * Math.max(0.4, Math.sqrt(lowest / hz)),
      rootMm: 0.075 * longest,
      tipMm: 0.04 * longest,
      leadMm: Math.min(0.14, 0.05 * Math.max(0, Math.log2(1000 / hz))) * longest,
      gapMm: tooth <= scene.teeth.length ? r * Math.sin(Math.min(90, damperDeg(scene, tooth)) * RAD) : 0,
      plateMm: 0.25 * longest,
    };
    const wide = 2 * r + longest + this.side.plateMm;
    const pxPerMm = Math.min((width - 6) / wide, (0.32 * width) / r, (0.4 * height) / r);
    const y = Math.round(r * pxPerMm) + 6;
    /** @type {Place} */
    this.place = { x: width - 4 - r * pxPerMm, y: this.up > 0 ? y : height - y, pxPerMm };
    // The glass lies in the corner below the comb, clear of the pins.
    const radius = 0.24 * height;
    const field = Math.max(3.6 * scene.liftMm, 4 * scene.pinMm, 1.7 * scene.projectionMm);
    const times = Math.max(2, Math.floor((2 * radius) / field / pxPerMm));
    this.glass = { x: radius + 2, y: this.up > 0 ? height - radius - 2 : radius + 2, radius, times, pxPerMm: times * pxPerMm };
    this.disc = this.drawDisc();
  }

  /** The turning part, at angle 0; it is turned as it is laid down. */
  drawDisc() {
    const { motion, tooth, colours, place, up } = this;
    const { scene, radiusMm: r, contactDeg } = motion;
    const px = place.pxPerMm;
    const half = Math.ceil(r * px) + 2;
    const disc = spareSheet(2 * half, 2 * half);
    const { ctx } = disc;
    const bare = (scene.diameterMm / 2) * px;
    ctx.translate(half, half);
    /** Where an angle of the cylinder lies. @param {number} deg @param {number} at @returns {[number, number]} */
    const polar = (deg, at) => [-at * Math.cos((contactDeg - deg) * RAD), -up * at * Math.sin((contactDeg - deg) * RAD)];
    /** @param {number} deg @param {number} from @param {number} to */
    const radial = (deg, from, to) => {
      ctx.moveTo(...polar(deg, from));
      ctx.lineTo(...polar(deg, to));
    };
    const pin = Math.max(1, scene.pinMm * px);
    const tip = r * px;
    ctx.globalAlpha = 0.4;
    ctx.strokeStyle = colours("control");
    ctx.lineWidth = pin;
    ctx.beginPath();
    scene.pins.deg.forEach((deg, i) => scene.pins.tooth[i] !== tooth && radial(deg, bare - 1, tip));
    ctx.stroke();
    ctx.globalAlpha = 1;
    for (const [colour, width] of /** @type {[string, number][]} */ ([["dome-edge", pin], ["dome-b", Math.max(0.6, pin - 1.6)]])) {
      ctx.strokeStyle = colours(colour);
      ctx.lineWidth = width;
      ctx.beginPath();
      for (const deg of motion.tracks[tooth - 1]?.deg ?? []) radial(deg, bare - 1, tip);
      ctx.stroke();
    }

    const face = ctx.createRadialGradient(0, 0, 0.1 * bare, 0, 0, bare);
    face.addColorStop(0, colours("brass-b"));
    face.addColorStop(0.86, colours("brass-a"));
    face.addColorStop(0.93, colours("brass-b"));
    face.addColorStop(1, colours("brass-c"));
    ctx.fillStyle = face;
    ctx.strokeStyle = colours("brass");
    ctx.lineWidth = 1.25;
    ctx.beginPath();
    ctx.arc(0, 0, bare, 0, 7);
    ctx.fill();
    ctx.stroke();
    ctx.strokeStyle = colours("scribed");
    ctx.lineWidth = 1;
    for (let ring = 0.3; ring < 0.85; ring += 3.2 / bare) {
      ctx.globalAlpha = 0.09;
      ctx.beginPath();
      ctx.arc(0, 0, ring * bare, 0, 7);
      ctx.stroke();
    }
    ctx.globalAlpha = 1;
    ctx.strokeStyle = colours("engraved");
    ctx.beginPath();
    for (let deg = 0; deg < 360; deg += 5) if (deg % 10 === 0 || bare > 110) radial(deg, bare - (deg % 30 === 0 ? 9 : deg % 10 === 0 ? 6 : 3), bare - 0.5);
    ctx.stroke();
    if (bare > 60) {
      for (let deg = 0; deg < 360; deg += bare > 90 ? 30 : 90) {
        ctx.save();
        const [x, y] = polar(deg, bare - 18);
        ctx.translate(x, y);
        ctx.rotate(Math.atan2(y, x) + Math.PI / 2);
        write(ctx, String(deg), 0, 4, colours("engraved"), { align: "center", size: 11 });
        ctx.restore();
      }
    }
    ctx.lineWidth = 1.5;
    ctx.strokeStyle = colours("ink");
    ctx.beginPath();
    radial(0, 0.26 * bare, bare - (bare > 60 ? 28 : 0));
    ctx.stroke();

    // The arbor with its squared end.
    const arbor = 0.2 * bare;
    const steel = ctx.createLinearGradient(-arbor, -arbor, arbor, arbor);
    steel.addColorStop(0, colours("steel-d"));
    steel.addColorStop(1, colours("steel-c"));
    ctx.fillStyle = steel;
    ctx.strokeStyle = colours("steel-c");
    ctx.beginPath();
    ctx.arc(0, 0, arbor, 0, 7);
    ctx.fill();
    ctx.stroke();
    ctx.rotate(-up * contactDeg * RAD + Math.PI / 4);
    ctx.strokeStyle = colours("glint");
    ctx.strokeRect(-0.52 * arbor, -0.52 * arbor, 1.04 * arbor, 1.04 * arbor);
    return disc;
  }

  /**
   * @param {number} turned
   * @param {number} drawnHz  of the vibration as the view is slowed, 0 while it is held
   */
  draw(turned, drawnHz) {
    const { motion, tooth, colours, sheet, place, up, side, glass, disc } = this;
    const { ctx } = sheet;
    const state = toothAt(motion, tooth, turned);
    wipe(sheet);
    ctx.save();
    ctx.translate(place.x, place.y);
    ctx.rotate(up * (turned % 360) * RAD);
    lay(sheet, disc, -disc.width / 2, -disc.height / 2);
    ctx.restore();
    this.paintTooth(place, state, drawnHz);
    this.arrow();
    scaleBar(ctx, 84, up > 0 ? 24 : sheet.height - 4, place.pxPerMm, colours("muted"));

    // Under the glass: the same again, larger.
    const large = { x: glass.x + (0.1 * glass.radius - side.tipX * glass.pxPerMm), y: glass.y + up * (0.5 * motion.scene.liftMm + this.rest()) * glass.pxPerMm, pxPerMm: glass.pxPerMm };
    ctx.save();
    ctx.beginPath();
    ctx.arc(glass.x, glass.y, glass.radius - 2, 0, 7);
    ctx.fillStyle = colours("page");
    ctx.fill();
    ctx.clip();
    this.paintGauge(large);
    this.paintSurface(large, turned);
    this.paintTooth(large, state, drawnHz);
    ctx.restore();
    ctx.lineWidth = 4;
    ctx.strokeStyle = colours("steel-c");
    ctx.beginPath();
    ctx.arc(glass.x, glass.y, glass.radius - 2, 0, 7);
    ctx.stroke();
    ctx.lineWidth = 1;
    ctx.strokeStyle = colours("glint");
    ctx.beginPath();
    ctx.arc(glass.x, glass.y, glass.radius - 1.5, 2.4, 4.6);
    ctx.stroke();
    // Where the glass is held, and how much it enlarges.
    const tip = { x: place.x + side.tipX * place.pxPerMm, y: place.y };
    const small = Math.max(5, glass.radius / glass.times);
    ctx.strokeStyle = colours("muted");
    ctx.beginPath();
    ctx.arc(tip.x, tip.y, small, 0, 7);
    const toward = Math.atan2(glass.y - tip.y, glass.x - tip.x);
    ctx.moveTo(tip.x + small * Math.cos(toward), tip.y + small * Math.sin(toward));
    ctx.lineTo(glass.x - glass.radius * Math.cos(toward), glass.y - glass.radius * Math.sin(toward));
    ctx.stroke();
    const beside = 2 * glass.radius + 10;
    const foot = up > 0 ? sheet.height - 22 : 12;
    write(ctx, say("under the glass × {1};", glass.times), beside, foot, colours("muted"));
    write(ctx, say("between its lines {1}", length(motion.scene.liftMm, 2)), beside, foot + 17, colours("muted"));
  }

  /** How far above the axis a tooth's working face rests. */
  rest() {
    return this.motion.scene.pinMm / 2;
  }

  /** @param {Place} place @param {number} turned */
  paintSurface(place, turned) {
    const { motion, tooth, colours, sheet, up, glass } = this;
    const { scene, radiusMm: r, contactDeg } = motion;
    const { ctx } = sheet;
    const px = place.pxPerMm;
    const reach = Math.min(180, ((2.6 * glass.radius) / px / r / RAD));
    /** @param {number} deg @param {number} at @returns {[number, number]} */
    const polar = (deg, at) => {
      const above = (contactDeg + turned - deg) * RAD;
      return [place.x - at * px * Math.cos(above), place.y - up * at * px * Math.sin(above)];
    };
    /** @param {ArrayLike<number>} list @param {{ from: number, to: number }[]} runs */
    const pins = (list, runs) => {
      ctx.beginPath();
      for (const run of runs) {
        for (let i = run.from; i < run.to; i++) {
          ctx.moveTo(...polar(list[i], scene.diameterMm / 2 - scene.pinMm));
          ctx.lineTo(...polar(list[i], r));
        }
      }
      ctx.stroke();
    };
    const all = between(scene.pins.deg, turned - reach, turned + reach);
    ctx.globalAlpha = 0.28;
    ctx.strokeStyle = colours("control");
    if (all.reduce((n, run) => n + run.to - run.from, 0) <= MOST_BESIDE) {
      ctx.lineWidth = scene.pinMm * px;
      pins(scene.pins.deg, all);
    } else {
      ctx.lineWidth = scene.projectionMm * px;
      ctx.beginPath();
      ctx.arc(place.x, place.y, (r - scene.projectionMm / 2) * px, 0, 7);
      ctx.stroke();
    }
    ctx.globalAlpha = 1;
    const own = motion.tracks[tooth - 1]?.deg ?? [];
    const near = between(own, turned - reach, turned + reach);
    for (const [colour, less] of /** @type {[string, number][]} */ ([["dome-edge", 0], ["dome-c", 1.6], ["dome-b", 0.4 * scene.pinMm * px]])) {
      ctx.strokeStyle = colours(colour);
      ctx.lineWidth = Math.max(0.5, scene.pinMm * px - less);
      pins(own, near);
    }
    ctx.fillStyle = colours("brass-b");
    ctx.strokeStyle = colours("brass");
    ctx.lineWidth = 1.5;
    ctx.beginPath();
    ctx.arc(place.x, place.y, (scene.diameterMm / 2) * px, 0, 7);
    ctx.fill();
    ctx.stroke();
  }

  /** The lift's gauge: the tip's rest and where it is let go. @param {Place} place */
  paintGauge(place) {
    const { motion, colours, sheet, up, glass } = this;
    const { ctx } = sheet;
    const left = glass.x - glass.radius;
    const low = place.y - up * this.rest() * place.pxPerMm;
    const high = low - up * motion.scene.liftMm * place.pxPerMm;
    ctx.strokeStyle = colours("muted");
    ctx.lineWidth = 1;
    ctx.setLineDash([3, 3]);
    ctx.beginPath();
    for (const y of [low, high]) {
      ctx.moveTo(left, Math.round(y) + 0.5);
      ctx.lineTo(left + 2 * glass.radius, Math.round(y) + 0.5);
    }
    ctx.stroke();
    ctx.setLineDash([]);
  }

  /**
   * The tooth from its side, its tip where it is; too quick a vibration as the band that it fills.
   * @param {Place} place
   * @param {ToothState} state
   * @param {number} drawnHz
   */
  paintTooth(place, state, drawnHz) {
    const { motion, colours, sheet, up, side } = this;
    const { ctx } = sheet;
    const px = place.pxPerMm;
    const rootX = side.tipX - side.longMm;
    /** @param {number} x @param {number} y @returns {[number, number]} */
    const at = (x, y) => [place.x + x * px, place.y - up * (y + this.rest()) * px];
    /** Outline with the tip raised by mm. @param {number} mm */
    const outline = (mm) => {
      const points = [];
      for (let u = 0; u <= 1.0001; u += 0.05) points.push(...at(rootX + u * side.longMm, mm * bent(u)));
      const thick = (/** @type {number} */ u) => side.rootMm + (side.tipMm - side.rootMm) * Math.min(1, u / 0.8);
      for (let u = 1; u >= -0.0001; u -= 0.05) points.push(...at(rootX + u * side.longMm, mm * bent(u) + thick(u) * (u > 0.99 ? 0.7 : 1)));
      return points;
    };
    if (state.swingMm * px > 0.4) {
      const above = outline(state.swingMm);
      const below = outline(-state.swingMm);
      ctx.globalAlpha = 0.3;
      ctx.fillStyle = colours("steel-d");
      const half = 42; // numbers of the lower edge
      trace(ctx, [...below.slice(0, half), ...above.slice(half)]);
      ctx.fill();
      ctx.globalAlpha = 0.8;
      ctx.lineWidth = 0.75;
      ctx.strokeStyle = colours("steel-b");
      trace(ctx, below.slice(0, half));
      ctx.stroke();
      trace(ctx, above.slice(half));
      ctx.stroke();
      ctx.globalAlpha = 1;
    }
    const blurred = drawnHz > QUICK_HZ && state.swingMm * px > 1.5;
    const tip = drawnHz > QUICK_HZ && state.swingMm > 0 ? 0 : state.tipMm;
    ctx.globalAlpha = blurred ? 0.5 : 1;

    // The damper: a wire below the tip that the pin takes along first.
    const [fromU, gap] = [0.72, Math.max(0.02, side.gapMm)];
    let end = tip - gap;
    if (state.doing === "lifted") end = tip;
    if (state.doing === "damping") {
      const toContact = ((state.untilMs / motion.scene.turnMs) * 360 - motion.contactDeg) * RAD;
      end = Math.max(end, -motion.radiusMm * Math.sin(Math.max(0, toContact)));
    }
    const bow = Math.max(1.6 * gap, 0.05 * side.longMm);
    ctx.strokeStyle = colours("ink");
    ctx.lineWidth = Math.max(1, 0.022 * px);
    ctx.beginPath();
    ctx.moveTo(...at(rootX + fromU * side.longMm, tip * bent(fromU)));
    ctx.bezierCurveTo(...at(rootX + (fromU + 0.05) * side.longMm, tip * bent(fromU) - bow), ...at(side.tipX - 0.1 * side.longMm, end - 0.6 * bow), ...at(side.tipX, end));
    ctx.stroke();

    if (side.leadMm > 0) {
      ctx.fillStyle = colours("lead");
      ctx.strokeStyle = colours("lead-edge");
      ctx.lineWidth = 0.8;
      const points = [];
      for (const u of [0.4, 0.5, 0.6, 0.7]) points.push(...at(rootX + u * side.longMm, tip * bent(u)));
      for (const u of [0.7, 0.4]) points.push(...at(rootX + u * side.longMm, tip * bent(u) - side.leadMm));
      trace(ctx, points);
      ctx.closePath();
      ctx.fill();
      ctx.stroke();
    }
    const steel = ctx.createLinearGradient(0, at(0, side.rootMm)[1], 0, at(0, 0)[1]);
    steel.addColorStop(0, colours("steel-d"));
    steel.addColorStop(0.5, colours("steel-b"));
    steel.addColorStop(1, colours("steel-c"));
    ctx.fillStyle = steel;
    ctx.strokeStyle = colours("steel-c");
    ctx.lineWidth = 1;
    trace(ctx, outline(tip));
    ctx.closePath();
    ctx.fill();
    ctx.stroke();
    ctx.globalAlpha = 1;

    // The plate, screwed to its brass bed.
    const left = -place.x / px;
    ctx.fillStyle = colours("brass-c");
    ctx.strokeStyle = colours("brass");
    ctx.beginPath();
    ctx.rect(...at(left - 1, -0.02 * side.longMm), (rootX - 0.06 * side.longMm - left + 1) * px, up * 0.28 * motion.radiusMm * px);
    ctx.fill();
    ctx.stroke();
    const plate = ctx.createLinearGradient(0, at(0, 1.5 * side.rootMm)[1], 0, at(0, 0)[1]);
    plate.addColorStop(0, colours("steel-a"));
    plate.addColorStop(1, colours("steel-c"));
    ctx.fillStyle = plate;
    ctx.strokeStyle = colours("steel-c");
    trace(ctx, [...at(left - 1, -0.02 * side.longMm), ...at(rootX, -0.02 * side.longMm), ...at(rootX + 0.03 * side.longMm, side.rootMm), ...at(rootX - 0.05 * side.longMm, 1.5 * side.rootMm), ...at(left - 1, 1.5 * side.rootMm)]);
    ctx.closePath();
    ctx.fill();
    ctx.stroke();
  }

  /** Which way the cylinder turns. */
  arrow() {
    const { motion, colours, sheet, place, up } = this;
    const { ctx } = sheet;
    const at = 0.55 * (motion.scene.diameterMm / 2) * place.pxPerMm;
    ctx.strokeStyle = colours("engraved");
    ctx.lineWidth = 1.5;
    const [from, to] = up > 0 ? [-1.2, -0.3] : [0.3, 1.2];
    ctx.beginPath();
    ctx.arc(place.x, place.y, at, from, to);
    ctx.stroke();
    const head = up > 0 ? to : from;
    const along = head + (up > 0 ? Math.PI / 2 : -Math.PI / 2);
    const [x, y] = [place.x + at * Math.cos(head), place.y + at * Math.sin(head)];
    ctx.beginPath();
    for (const turn of [2.6, 0, -2.6]) ctx.lineTo(x + (turn ? 8 * Math.cos(along + turn) : 0), y + (turn ? 8 * Math.sin(along + turn) : 0));
    ctx.stroke();
  }
}
