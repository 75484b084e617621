/**
 * Paints the unrolled cylinder and its comb: brass, blued steel, pins as domes, each with the wake in which its tooth is not free. Knows the
 * canvas and nothing of the page.
 *
 * @import { Surface, View } from "./surface.js"
 */
import { coloursAt } from "./metal.js";
import { say } from "./say.js";
import { angle, inSixties, length } from "./shown.js";
import { downOf, fromAfar, inSight, markEvery } from "./surface.js";

/**
 * @typedef {Record<"page" | "ink" | "muted" | "brass" | "steel" | "verdigris" | "redlead" | "brassA" | "brassB" | "brassC" | "bare" | "scribed" | "engraved" | "wake" |
 *   "shadow" | "steelA" | "steelB" | "steelC" | "stamp" | "glint" | "lead" | "leadEdge" | "domeA" | "domeB" | "domeC" | "domeEdge" | "clashA" | "clashC" | "ring" | "screw", string>} Palette
 *
 * What is chosen and what would be:
 * @typedef {{
 *   pin: number, left: number, tooth: number, among: Set<number> | null, span: [number, number] | null,
 *   drag: { pin: number, by: number, tooth: number, bad: boolean } | null, teeth: number[],
 *   then: { gone: Set<number>, come: { arc: number, down: number }[] } | null, at: number | null
 * }} Chosen  span in mm of arc; at: the arc that passes under the teeth now
 */

/** Heights of the scales above and below the surface, px. */
export const upper = 30, lower = 30;

const tau = 2 * Math.PI;

/** Pins of a smaller radius than this, px, are points where they are many. */
const pointed = 2.4;
const many = 1500; // pins in sight

/**
 * Reads the palette of the page.
 * @param {Element} element
 * @returns {Palette}
 */
export function paletteOf(element) {
  const colour = coloursAt(element);
  const names = ["page", "ink", "muted", "brass", "steel", "verdigris", "redlead", "brass-a", "brass-b", "brass-c", "bare", "scribed", "engraved", "wake", "shadow", "steel-a", "steel-b",
    "steel-c", "stamp", "glint", "lead", "lead-edge", "dome-a", "dome-b", "dome-c", "dome-edge", "clash-a", "clash-c", "ring", "screw"];
  return /** @type {Palette} */ (Object.fromEntries(names.map((n) => [n.replace(/-(.)/, (_, c) => c.toUpperCase()), colour(n)])));
}

/**
 * The metal on one canvas. Its sprites are kept from one painting to the next.
 */
export class Painter {
  /** @type {Map<string, HTMLCanvasElement>} */
  #sprites = new Map();
  /** Pins and wakes as they look from afar, for as long as they stay so. @type {{ s: Surface, v: View, canvas: HTMLCanvasElement } | null} */
  #afar = null;

  /**
   * @param {CanvasRenderingContext2D} to
   * @param {Palette} palette
   * @param {number} ratio  device pixels a px
   */
  constructor(to, palette, ratio) {
    this.to = to;
    this.palette = palette;
    this.ratio = ratio;
  }

  /**
   * Paints the surface into the window whose upper left corner lies at x, y.
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {number} x
   * @param {number} y
   */
  surface(s, v, chosen, x, y) {
    const c = this.to, p = this.palette;
    const px = (/** @type {number} */ arc) => x + (arc - v.left) * v.scale;
    const py = (/** @type {number} */ down) => y + (down - v.top) * v.scale;
    const from = Math.max(x, px(v.width / v.scale >= s.around + s.beyond ? 0 : -s.beyond)), to = Math.min(x + v.width, px(s.around + s.beyond));
    const top = Math.max(y, py(0)), bottom = Math.min(y + v.height, py(s.height));

    c.save();
    c.beginPath();
    c.rect(x, y, v.width, v.height);
    c.clip();
    const brass = c.createLinearGradient(0, py(0), 0, py(s.height));
    brass.addColorStop(0, p.brassA);
    brass.addColorStop(0.5, p.brassB);
    brass.addColorStop(1, p.brassC);
    c.fillStyle = brass;
    c.fillRect(from, top, to - from, bottom - top);

    const gap = (s.scene.gapDeg / 720) * s.around;
    c.fillStyle = p.bare;
    c.globalAlpha = 0.72;
    for (const at of [0, s.around]) c.fillRect(Math.max(from, px(at - gap)), top, Math.min(to, px(at + gap)) - Math.max(from, px(at - gap)), bottom - top);
    c.globalAlpha = 1;

    if (chosen.span) {
      c.fillStyle = p.steel;
      c.globalAlpha = 0.18;
      c.fillRect(px(chosen.span[0]), top, (chosen.span[1] - chosen.span[0]) * v.scale, bottom - top);
      c.globalAlpha = 1;
    }
    this.#tracks(s, v, chosen, from, to, py);
    if (this.#far(s, v)) this.#points(s, v, x, y);
    this.#wakes(s, v, chosen, px, py);
    this.#pins(s, v, chosen, px, py);
    this.#leftOut(s, v, chosen, px, py);
    this.#wouldBe(s, v, chosen, px, py);

    c.strokeStyle = p.ink;
    c.lineWidth = 1.5;
    for (const at of [0, s.around]) {
      c.beginPath();
      c.moveTo(px(at), top);
      c.lineTo(px(at), bottom);
      c.stroke();
    }
    if (chosen.at !== null) {
      c.strokeStyle = p.steel;
      c.lineWidth = 2;
      c.beginPath();
      c.moveTo(px(chosen.at), top);
      c.lineTo(px(chosen.at), bottom);
      c.stroke();
    }
    c.strokeStyle = p.brass;
    c.lineWidth = 1.5;
    for (const edge of [0, s.height]) {
      c.beginPath();
      c.moveTo(from, py(edge));
      c.lineTo(to, py(edge));
      c.stroke();
    }
    if (v.scale * s.height > 120) {
      c.fillStyle = p.engraved;
      c.font = "11px system-ui, sans-serif";
      c.textAlign = "left";
      const ends = [say("treble end"), say("bass end")];
      if (!s.scene.bassBottom) ends.reverse();
      c.fillText(ends[0], Math.max(x, px(0)) + 8, py(0) + 14);
      c.fillText(ends[1], Math.max(x, px(0)) + 8, py(s.height) - 6);
    }
    c.restore();
    this.#scales(s, v, x, y, px);
  }

  /**
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {number} from  px
   * @param {number} to
   * @param {(down: number) => number} py
   */
  #tracks(s, v, chosen, from, to, py) {
    const c = this.to, p = this.palette;
    c.lineWidth = 1;
    for (let tooth = 1; tooth < s.tracks.length; tooth++) {
      const y = py(s.tracks[tooth]);
      const may = chosen.drag !== null && chosen.teeth.includes(tooth);
      if (tooth === chosen.tooth || may) {
        c.fillStyle = may ? p.verdigris : p.steel;
        c.globalAlpha = may && tooth === chosen.drag?.tooth ? 0.34 : 0.18;
        c.fillRect(from, y - 0.45 * s.scene.spacingMm * v.scale, to - from, 0.9 * s.scene.spacingMm * v.scale);
      }
      c.strokeStyle = p.scribed;
      c.globalAlpha = 0.3;
      c.beginPath();
      c.moveTo(from, y);
      c.lineTo(to, y);
      c.stroke();
    }
    c.globalAlpha = 1;
  }

  /**
   * Reports whether pins are points.
   * @param {Surface} s
   * @param {View} v
   */
  #far(s, v) {
    return this.#radius(s, v) < pointed && inSight(s, v, 0, true).reduce((sum, { from, to }) => sum + to - from, 0) > many;
  }

  /**
   * One by one, many thousands of pins would take longer than a frame lasts.
   * @param {Surface} s
   * @param {View} v
   * @param {number} x  of the window
   * @param {number} y
   */
  #points(s, v, x, y) {
    const had = this.#afar;
    if (!had || had.s !== s || had.v.scale !== v.scale || had.v.left !== v.left || had.v.top !== v.top || had.v.width !== v.width || had.v.height !== v.height) {
      const { wake, ink, redlead } = this.palette;
      const { pixels, wide, high } = fromAfar(s, v, this.ratio, this.#radius(s, v), { wake: this.#ink(wake), pin: this.#ink(ink), clash: this.#ink(redlead) });
      const canvas = had?.canvas ?? document.createElement("canvas");
      if (canvas.width !== wide || canvas.height !== high) [canvas.width, canvas.height] = [wide, high];
      canvas.getContext("2d")?.putImageData(new ImageData(pixels, wide, high), 0, 0);
      this.#afar = { s, v, canvas };
    }
    const { canvas } = /** @type {NonNullable<typeof had>} */ (this.#afar);
    this.to.drawImage(canvas, x, y, canvas.width / this.ratio, canvas.height / this.ratio);
  }

  /** @param {string} colour @returns {number[]} its red, green and blue */
  #ink(colour) {
    this.to.fillStyle = colour;
    const n = parseInt(String(this.to.fillStyle).slice(1), 16); // a canvas gives a colour back as #rrggbb
    return [n >> 16, (n >> 8) & 255, n & 255];
  }

  /**
   * A wake is as high as its pin where that stands, and nothing where the tooth is free again.
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {(arc: number) => number} px
   * @param {(down: number) => number} py
   */
  #wakes(s, v, chosen, px, py) {
    const c = this.to, p = this.palette;
    const half = 0.95 * this.#radius(s, v);
    const runs = this.#far(s, v) ? [] : inSight(s, v, 0, true);
    for (const clashing of [0, 1]) {
      c.fillStyle = clashing ? p.redlead : p.wake;
      for (const { from, to, shift } of runs) {
        c.globalAlpha = 0.5 * (shift === 0 ? 1 : 0.4);
        c.beginPath();
        for (let i = from; i < to; i++) {
          if (s.clash[i] !== clashing || i === chosen.drag?.pin) continue;
          const x = px(s.arc[i] + shift), y = py(s.down[i]), long = s.wake[i] * v.scale;
          c.moveTo(x, y - half);
          c.lineTo(x + long, y);
          c.lineTo(x, y + half);
        }
        c.fill();
      }
    }
    c.globalAlpha = 1;
    if (chosen.drag) {
      const { pin, by, tooth, bad } = chosen.drag;
      const x = px(s.arc[pin] + by), y = py(s.tracks[tooth]);
      c.fillStyle = bad ? p.redlead : p.verdigris;
      c.globalAlpha = 0.6;
      c.beginPath();
      c.moveTo(x, y - half);
      c.lineTo(x + s.wake[pin] * v.scale, y);
      c.lineTo(x, y + half);
      c.fill();
      c.globalAlpha = 1;
    }
  }

  /** @param {Surface} s @param {View} v */
  #radius(s, v) {
    return Math.max(1, Math.min((s.scene.pinMm / 2) * v.scale, 0.42 * s.scene.spacingMm * v.scale));
  }

  /**
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {(arc: number) => number} px
   * @param {(down: number) => number} py
   */
  #pins(s, v, chosen, px, py) {
    const c = this.to, p = this.palette;
    let r = this.#radius(s, v);
    const runs = inSight(s, v, 1.5 * r / v.scale + 12 / v.scale, false);
    const points = this.#far(s, v);
    if (!points) r = Math.max(r, 2);
    for (const { from, to, shift } of runs) {
      if (!points) {
        for (let i = from; i < to; i++) {
          if (i === chosen.drag?.pin) continue;
          const dim = chosen.among && !chosen.among.has(i);
          c.globalAlpha = (shift === 0 ? 1 : 0.45) * (dim ? 0.3 : 1);
          this.#dome(px(s.arc[i] + shift), py(s.down[i]), r, s.clash[i] === 1);
        }
      }
      c.globalAlpha = shift === 0 ? 1 : 0.45;
      for (let i = from; i < to; i++) if (!points || s.clash[i]) this.#marks(s, i, px(s.arc[i] + shift), py(s.down[i]), r, points);
    }
    c.globalAlpha = 1;
    const label = (/** @type {number} */ i, /** @type {number} */ x, /** @type {number} */ y) => {
      c.fillStyle = p.ink;
      c.font = "12px system-ui, sans-serif";
      c.textAlign = "left";
      const { teeth, pins } = s.scene;
      c.fillText(`${teeth[pins.tooth[i] - 1].note}  ${angle(pins.deg[i], 2)}  ${length(s.arc[i], 2)}`, x + r + 6, y - r - 4);
    };
    if (r > 26) for (const { from, to, shift } of runs) for (let i = from; i < to; i++) label(i, px(s.arc[i] + shift), py(s.down[i]));
    if (chosen.drag) {
      const { pin, by, tooth, bad } = chosen.drag;
      this.#dome(px(s.arc[pin] + by), py(s.tracks[tooth]), Math.max(r, 4), bad);
    } else if (chosen.pin >= 0) {
      const x = px(s.arc[chosen.pin]), y = py(s.down[chosen.pin]);
      c.strokeStyle = p.steel;
      c.lineWidth = 2.5;
      c.beginPath();
      c.arc(x, y, Math.max(r, 3) + 4, 0, tau);
      c.stroke();
    }
  }

  /**
   * @param {number} x
   * @param {number} y
   * @param {number} r
   * @param {boolean} clash
   */
  #dome(x, y, r, clash) {
    const c = this.to;
    if (r > 40) {
      this.#domeInto(c, x, y, r, clash);
      return;
    }
    const size = Math.ceil(r * this.ratio);
    const key = `${size}${clash}`;
    let sprite = this.#sprites.get(key);
    const side = 2 * size + 8;
    if (!sprite) {
      sprite = document.createElement("canvas");
      sprite.width = sprite.height = side;
      const to = /** @type {CanvasRenderingContext2D} */ (sprite.getContext("2d"));
      this.#domeInto(to, side / 2 - 1, side / 2 - 1, size, clash);
      if (this.#sprites.size > 60) this.#sprites.clear();
      this.#sprites.set(key, sprite);
    }
    const wide = (side / size) * r;
    c.drawImage(sprite, x - ((side / 2 - 1) / side) * wide, y - ((side / 2 - 1) / side) * wide, wide, wide);
  }

  /**
   * @param {CanvasRenderingContext2D} c
   * @param {number} x
   * @param {number} y
   * @param {number} r
   * @param {boolean} clash
   */
  #domeInto(c, x, y, r, clash) {
    const p = this.palette;
    c.save();
    c.fillStyle = p.shadow;
    c.globalAlpha *= 0.45;
    c.beginPath();
    c.ellipse(x + 0.25 * r, y + 0.35 * r, 1.08 * r, r, 0, 0, tau);
    c.fill();
    c.restore();
    const shine = c.createRadialGradient(x - 0.28 * r, y - 0.36 * r, 0, x, y, 1.15 * r);
    shine.addColorStop(0, clash ? p.clashA : p.domeA);
    shine.addColorStop(0.45, clash ? p.redlead : p.domeB);
    shine.addColorStop(1, clash ? p.clashC : p.domeC);
    c.fillStyle = shine;
    c.strokeStyle = p.domeEdge;
    c.lineWidth = Math.max(0.8, 0.06 * r);
    c.beginPath();
    c.arc(x, y, r, 0, tau);
    c.fill();
    c.stroke();
  }

  /**
   * A clash has a notch, a moved note an arrow, a held pin a cross scribed on it.
   * @param {Surface} s
   * @param {number} i
   * @param {number} x
   * @param {number} y
   * @param {number} r
   * @param {boolean} points
   */
  #marks(s, i, x, y, r, points) {
    const c = this.to, p = this.palette;
    const { octaves, shiftMs } = s.scene.pins;
    const m = Math.max(3, Math.min(9, r));
    if (s.clash[i]) {
      c.fillStyle = p.redlead;
      c.beginPath();
      c.moveTo(x - m, y - r - 2 - m);
      c.lineTo(x + m, y - r - 2 - m);
      c.lineTo(x, y - r - 2);
      c.fill();
    }
    if (points) return;
    c.lineWidth = Math.max(1.2, 0.12 * m);
    c.strokeStyle = p.ink;
    if (octaves[i] !== 0) {
      const up = octaves[i] > 0 === s.scene.bassBottom ? -1 : 1;
      const from = y + up * (r + 2), to = y + up * (r + 2 + 1.6 * m);
      c.beginPath();
      c.moveTo(x, from);
      c.lineTo(x, to);
      c.moveTo(x - 0.5 * m, to - up * 0.6 * m);
      c.lineTo(x, to);
      c.lineTo(x + 0.5 * m, to - up * 0.6 * m);
      c.stroke();
    }
    if (shiftMs[i] !== 0) {
      const on = shiftMs[i] > 0 ? 1 : -1;
      const from = x + on * (r + 2), to = x + on * (r + 2 + 1.6 * m);
      c.beginPath();
      c.moveTo(from, y);
      c.lineTo(to, y);
      c.moveTo(to - on * 0.6 * m, y - 0.5 * m);
      c.lineTo(to, y);
      c.lineTo(to - on * 0.6 * m, y + 0.5 * m);
      c.stroke();
    }
    if (s.locked[i] && r >= 3) { // a smaller pin has no room for it
      c.strokeStyle = p.domeEdge;
      c.beginPath();
      c.moveTo(x - 0.5 * r, y - 0.5 * r);
      c.lineTo(x + 0.5 * r, y + 0.5 * r);
      c.moveTo(x + 0.5 * r, y - 0.5 * r);
      c.lineTo(x - 0.5 * r, y + 0.5 * r);
      c.stroke();
    }
  }

  /**
   * A left-out note is an empty ring.
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {(arc: number) => number} px
   * @param {(down: number) => number} py
   */
  #leftOut(s, v, chosen, px, py) {
    const c = this.to, p = this.palette;
    const r = Math.max(2.4, 0.9 * this.#radius(s, v));
    s.scene.left.forEach((note, i) => {
      const arc = (note.deg / 360) * s.around;
      if (arc < v.left - r / v.scale || arc > v.left + (v.width + r) / v.scale) return;
      const x = px(arc), y = py(downOf(s.scene, note.track));
      c.strokeStyle = i === chosen.left ? p.steel : p.ring;
      c.lineWidth = i === chosen.left ? 3 : 1.5;
      c.beginPath();
      c.arc(x, y, r, 0, tau);
      c.stroke();
    });
  }

  /**
   * What a remedy would change: pins that go are struck through, those that come are drawn in verdigris.
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {(arc: number) => number} px
   * @param {(down: number) => number} py
   */
  #wouldBe(s, v, chosen, px, py) {
    if (!chosen.then) return;
    const c = this.to, p = this.palette;
    const r = Math.max(4, this.#radius(s, v));
    c.lineWidth = 2.5;
    c.strokeStyle = p.redlead;
    c.beginPath();
    for (const i of chosen.then.gone) {
      const x = px(s.arc[i]), y = py(s.down[i]);
      c.moveTo(x - 1.4 * r, y);
      c.lineTo(x + 1.4 * r, y);
    }
    c.stroke();
    c.strokeStyle = p.verdigris;
    c.beginPath();
    for (const { arc, down } of chosen.then.come) {
      c.moveTo(px(arc) + r + 1, py(down));
      c.arc(px(arc), py(down), r + 1, 0, tau);
      c.moveTo(px(arc) - 0.6 * r, py(down));
      c.lineTo(px(arc) + 0.6 * r, py(down));
      c.moveTo(px(arc), py(down) - 0.6 * r);
      c.lineTo(px(arc), py(down) + 0.6 * r);
    }
    c.stroke();
  }

  /**
   * Bars above the surface, degrees below it.
   * @param {Surface} s
   * @param {View} v
   * @param {number} x
   * @param {number} y
   * @param {(arc: number) => number} px
   */
  #scales(s, v, x, y, px) {
    const c = this.to, p = this.palette;
    const inside = (/** @type {number} */ at) => at >= x - 1 && at <= x + v.width + 1;
    c.fillStyle = c.strokeStyle = p.ink;
    c.lineWidth = 1;
    c.font = "12px system-ui, sans-serif";
    c.textAlign = "left";
    let free = -Infinity, tick = -Infinity;
    for (const bar of s.scene.bars) {
      const at = px((bar.deg / 360) * s.around);
      if (bar.deg < 0 || !inside(at) || at < tick) continue;
      tick = at + 4;
      c.beginPath();
      c.moveTo(at, y);
      c.lineTo(at, y - 8);
      c.stroke();
      if (at > free) {
        c.fillText(`${bar.number}`, at + 3, y - 5);
        free = at + c.measureText(`${bar.number}`).width + 14;
      }
    }
    c.textAlign = "center";
    for (const [at, word] of /** @type {[number, string][]} */ ([[0, say("datum line")], [s.around, say("seam")]])) {
      if (inside(px(at))) c.fillText(word, Math.max(x + 30, px(at)), y - 18);
    }
    const room = (/** @type {number} */ wide) => (wide / v.scale / s.around) * 360;
    let every = markEvery(room(44));
    if (every < 1 && inSixties()) every = markEvery(room(92)); // minutes and seconds take more room
    const first = Math.ceil((v.left / s.around) * 360 / every) * every;
    const digits = Math.max(0, -Math.floor(Math.log10(every) + 1e-9));
    for (let k = 0; k < 400; k++) {
      const deg = first + k * every;
      const at = px((deg / 360) * s.around);
      if (at > x + v.width) break;
      const told = angle(((deg % 360) + 360) % 360, digits);
      const half = Math.max(14, c.measureText(told).width / 2);
      c.beginPath();
      c.moveTo(at, y + v.height);
      c.lineTo(at, y + v.height + 6);
      c.stroke();
      if (inside(at)) c.fillText(told, Math.max(x + half, Math.min(x + v.width - half, at)), y + v.height + 20);
    }
  }

  /**
   * The comb, its tips at the right of a strip: the longest tooth fills it, the others are as long as 1/√f makes them.
   * @param {Surface} s
   * @param {View} v
   * @param {Chosen} chosen
   * @param {number} x  of the strip
   * @param {number} y
   * @param {number} width
   */
  comb(s, v, chosen, x, y, width) {
    const c = this.to, p = this.palette;
    const { teeth, spacingMm } = s.scene;
    if (teeth.length === 0) return;
    const lowest = Math.min(...teeth.map((t) => t.hz));
    const py = (/** @type {number} */ down) => y + (down - v.top) * v.scale;
    const tip = x + width - 3, longest = width - (width > 180 ? 66 : 44);
    const step = spacingMm * v.scale;
    const root = (/** @type {number} */ i) => tip - longest * Math.sqrt(lowest / teeth[i].hz);
    c.save();
    c.beginPath();
    c.rect(x, y - 2, width, v.height + 4);
    c.clip();
    const steel = c.createLinearGradient(tip - longest, 0, tip, 0);
    steel.addColorStop(0, p.steelA);
    steel.addColorStop(0.55, p.steelB);
    steel.addColorStop(1, p.steelC);
    teeth.forEach((t, i) => {
      const at = py(s.tracks[i + 1]);
      if (at < y - 2 * step || at > y + v.height + 2 * step) return;
      const wide = 0.4 * step, narrow = Math.max(0.5, 0.25 * step);
      const heavy = Math.log2(1000 / t.hz);
      if (heavy > 0) {
        const long = Math.min(0.34 * (tip - root(i)), 16 + 14 * heavy);
        c.fillStyle = p.lead;
        c.strokeStyle = p.leadEdge;
        c.lineWidth = 0.8;
        c.fillRect(tip - 9 - long, at - 0.43 * step, long, 0.86 * step);
        if (step > 8) c.strokeRect(tip - 9 - long, at - 0.43 * step, long, 0.86 * step);
      }
      c.fillStyle = i + 1 === chosen.tooth ? p.verdigris : steel;
      c.beginPath();
      c.moveTo(root(i) - 6, at - wide);
      c.lineTo(root(i), at - wide);
      c.lineTo(tip - 7, at - narrow);
      c.lineTo(tip, at - 0.5 * narrow);
      c.lineTo(tip, at + 0.5 * narrow);
      c.lineTo(tip - 7, at + narrow);
      c.lineTo(root(i), at + wide);
      c.lineTo(root(i) - 6, at + wide);
      c.fill();
      if (step > 8) {
        c.strokeStyle = p.glint;
        c.lineWidth = 0.8;
        c.beginPath();
        c.moveTo(root(i), at - wide + 0.7);
        c.lineTo(tip - 7, at - narrow + 0.7);
        c.stroke();
      }
    });
    const plate = c.createLinearGradient(x, y, x + width, y + v.height);
    plate.addColorStop(0, p.steelA);
    plate.addColorStop(1, p.steelC);
    c.fillStyle = plate;
    c.beginPath();
    const edge = s.scene.bassBottom ? 1 : -1;
    c.moveTo(x + 4, py(s.tracks[1]) + edge * 1.3 * step / 2);
    teeth.forEach((_, i) => {
      c.lineTo(root(i), py(s.tracks[i + 1]) + edge * step / 2);
      c.lineTo(root(i), py(s.tracks[i + 1]) - edge * step / 2);
    });
    c.lineTo(x + 4, py(s.tracks[teeth.length]) - edge * 1.3 * step / 2);
    c.fill();
    c.fillStyle = p.stamp;
    c.font = "600 11px system-ui, sans-serif";
    c.textAlign = "left";
    let free = -Infinity;
    const order = teeth.map((_, i) => i).sort((a, b) => s.tracks[a + 1] - s.tracks[b + 1]);
    for (const i of order) {
      const at = py(s.tracks[i + 1]);
      if (at - free < 12 || at < y + 4 || at > y + v.height - 4) continue;
      c.fillText(`${teeth[i].note}`, x + 9, at + 4);
      free = at;
    }
    c.restore();
  }
}
