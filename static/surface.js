/**
 * The unrolled surface of a cylinder, as it is looked at through a window: where things lie, what is in sight, what a hand meets, and
 * how far a pin can be moved. Calculation only.
 *
 * Arc runs to the right from the datum line, in mm on the bare surface; down is the distance from the upper end in the drawing, the bass
 * end or the treble end as the cylinder is held. Beyond the datum line and the seam the surface goes on for a little, with the same pins once
 * more.
 *
 * @import { Scene } from "./scene.js"
 *
 * @typedef {{
 *   scene: Scene, around: number, height: number, arc: Float64Array, down: Float64Array, wake: Float64Array, longestWake: number,
 *   clash: Uint8Array, locked: Uint8Array, index: Map<string, number>, tracks: Float64Array, byTooth: number[][], beyond: number
 * }} Surface  lengths in mm; arc, down, wake, clash and locked by pin, tracks and byTooth by tooth from 1
 *
 * @typedef {{ scale: number, left: number, top: number, width: number, height: number }} View
 *   scale in px a mm, left and top in mm, width and height of the window in px
 */

/** px a mm at which one pin fills the window. */
export const closest = 600;

/**
 * @param {Scene} scene
 * @returns {Surface}
 */
export function surfaceOf(scene) {
  const around = scene.circumferenceMm;
  const n = scene.pins.note.length;
  const tracks = new Float64Array(scene.teeth.length + 1);
  for (let tooth = 1; tooth < tracks.length; tooth++) tracks[tooth] = downOf(scene, tooth);
  const byTooth = Array.from({ length: tracks.length }, () => /** @type {number[]} */ ([]));
  const arc = new Float64Array(n), down = new Float64Array(n), wake = new Float64Array(n), clash = new Uint8Array(n), locked = new Uint8Array(n);
  const index = new Map();
  let longestWake = 0;
  for (let i = 0; i < n; i++) {
    const tooth = scene.pins.tooth[i];
    arc[i] = (scene.pins.deg[i] / 360) * around;
    down[i] = tracks[tooth];
    wake[i] = Math.min(1, scene.teeth[tooth - 1].repeatMs / scene.turnMs) * around;
    longestWake = Math.max(longestWake, wake[i]);
    index.set(scene.pins.note[i], i);
    byTooth[tooth].push(i);
  }
  for (const i of scene.pins.locked) locked[i] = 1;
  for (const finding of scene.findings) {
    if (finding.blocks) for (const note of finding.notes) clash[index.get(note) ?? n] = 1;
  }
  return { scene, around, height: scene.lengthMm, arc, down, wake, longestWake, clash, locked, index, tracks, byTooth, beyond: 0.06 * around };
}

/**
 * How far below the upper edge a track lies; a tooth number with a fraction lies between two tracks.
 * @param {Scene} scene
 * @param {number} tooth
 */
export function downOf(scene, tooth) {
  const axial = scene.firstTrackMm + (tooth - 1) * scene.spacingMm;
  return scene.bassBottom ? scene.lengthMm - axial : axial;
}

/**
 * The whole turn in a window, with what lies beyond the seam.
 * @param {Surface} s
 * @param {number} width
 * @param {number} height
 * @returns {View}
 */
export function whole(s, width, height) {
  const scale = Math.min(width / (s.around + s.beyond), height / s.height);
  return within(s, { scale, left: 0, top: 0, width, height });
}

/**
 * The view to begin with: the whole turn; where that would leave a third of the window's height empty, as much of it from the datum line on as
 * fills the height.
 * @param {Surface} s
 * @param {number} width
 * @param {number} height
 * @returns {View}
 */
export function opening(s, width, height) {
  const all = whole(s, width, height);
  return all.scale * s.height < (2 / 3) * height ? within(s, { ...all, scale: height / s.height, left: 0, top: 0 }) : all;
}

/**
 * A view held to what there is: no farther than the whole turn, no nearer than one pin, and the window on the surface; what is smaller than the
 * window lies in its middle.
 * @param {Surface} s
 * @param {View} v
 * @returns {View}
 */
export function within(s, v) {
  const farthest = Math.min(v.width / (s.around + s.beyond), v.height / s.height);
  const scale = Math.max(farthest, Math.min(Math.max(closest, farthest), v.scale));
  const wide = v.width / scale, high = v.height / scale;
  const least = -s.beyond, most = s.around + s.beyond - wide;
  const left = wide >= s.around + s.beyond - 1e-9 ? Math.min(0, (s.around + s.beyond - wide) / 2) : Math.max(least, Math.min(most, v.left));
  const top = high >= s.height ? (s.height - high) / 2 : Math.max(0, Math.min(s.height - high, v.top));
  return { scale, left, top, width: v.width, height: v.height };
}

/**
 * A view nearer by a factor, about a point of the window that stays where it is.
 * @param {Surface} s
 * @param {View} v
 * @param {number} factor
 * @param {number} x  px
 * @param {number} y
 */
export function nearer(s, v, factor, x, y) {
  const held = within(s, { ...v, scale: v.scale * factor });
  return within(s, { ...held, left: v.left + x / v.scale - x / held.scale, top: v.top + y / v.scale - y / held.scale });
}

/**
 * A view nearer by a factor with a pin in its middle.
 * @param {Surface} s
 * @param {View} v
 * @param {number} factor
 * @param {number} pin
 */
export function about(s, v, factor, pin) {
  const held = within(s, { ...v, scale: v.scale * factor });
  return within(s, { ...held, left: s.arc[pin] - held.width / held.scale / 2, top: s.down[pin] - held.height / held.scale / 2 });
}

/**
 * A view moved by px, as a hand moves paper.
 * @param {Surface} s
 * @param {View} v
 * @param {number} dx
 * @param {number} dy
 */
export function moved(s, v, dx, dy) {
  return within(s, { ...v, left: v.left - dx / v.scale, top: v.top - dy / v.scale });
}

/**
 * A view with a pin well in sight: moved no more than it must be, nearer where asked.
 * @param {Surface} s
 * @param {View} v
 * @param {number} pin
 * @param {number} [scale]  at least
 */
export function showing(s, v, pin, scale = 0) {
  const near = within(s, { ...v, scale: Math.max(v.scale, scale) });
  const wide = near.width / near.scale, high = near.height / near.scale;
  const inside = (/** @type {number} */ from, /** @type {number} */ size, /** @type {number} */ at) =>
    at < from + 0.15 * size || at > from + 0.85 * size ? at - size / 2 : from;
  return within(s, { ...near, left: inside(near.scale === v.scale ? v.left : s.arc[pin] - wide / 2, wide, s.arc[pin]),
    top: inside(near.scale === v.scale ? v.top : s.down[pin] - high / 2, high, s.down[pin]) });
}

/**
 * The first pin at an arc or after it. log n.
 * @param {Surface} s
 * @param {number} arc
 */
export function firstFrom(s, arc) {
  let low = 0, high = s.arc.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if (s.arc[mid] < arc) low = mid + 1;
    else high = mid;
  }
  return low;
}

/**
 * The pins of which something may be in sight: runs of indexes [from, to) with the arc that is added to theirs. Pins stand once more
 * beyond the seam, before the datum line and after it.
 * @param {Surface} s
 * @param {View} v
 * @param {number} margin  mm beside the window in which a pin still shows
 * @param {boolean} wakes  reports whether wakes count as well
 * @returns {{ from: number, to: number, shift: number }[]}
 */
export function inSight(s, v, margin, wakes) {
  const right = v.left + v.width / v.scale + margin;
  const left = v.left - margin - (wakes ? s.longestWake : 0);
  const runs = [];
  for (const shift of [-s.around, 0, s.around]) {
    const from = firstFrom(s, left - shift), to = firstFrom(s, right - shift);
    if (to > from) runs.push({ from, to, shift });
  }
  return runs;
}

/** Opacities of a wake from afar, once and more often laid over itself: beyond the seam it counts one, else three. */
const tones = 64;

/**
 * Pins and their wakes from afar, where a pin is a point and a wake a tone: the window in device pixels, red, green, blue and opacity, row by row.
 * Where wakes lie over one another the tone is darker; beyond the seam all is fainter.
 * @param {Surface} s
 * @param {View} v
 * @param {number} ratio  device pixels a px
 * @param {number} r  px, half of a pin's side
 * @param {{ wake: number[], pin: number[], clash: number[] }} inks  red, green and blue, 0 to 255
 * @returns {{ pixels: Uint8ClampedArray<ArrayBuffer>, wide: number, high: number }}
 */
export function fromAfar(s, v, ratio, r, inks) {
  const wide = Math.max(1, Math.ceil(v.width * ratio)), high = Math.max(1, Math.ceil(v.height * ratio));
  const by = v.scale * ratio, left = v.left * by, top = v.top * by;
  const side = Math.max(1, Math.round(2 * r * ratio)), tall = Math.max(1, Math.round(0.95 * r * ratio));
  const codes = new Uint8Array(wide * high); // tones of a wake, tones of one that clashes, then pins
  const runs = inSight(s, v, (2 * r) / v.scale, true);
  for (const clashing of [0, 1]) {
    const base = clashing * tones;
    for (const { from, to, shift } of runs) {
      const darker = shift === 0 ? 3 : 1;
      for (let i = from; i < to; i++) {
        if (s.clash[i] !== clashing) continue;
        const x = Math.round((s.arc[i] + shift) * by - left), y = Math.round(s.down[i] * by - top - tall / 2);
        const end = Math.min(wide, x + Math.round(s.wake[i] * by)), bottom = Math.min(high, y + tall);
        for (let row = Math.max(0, y); row < bottom; row++) {
          for (let at = row * wide + Math.max(0, x); at < row * wide + end; at++) codes[at] = base + Math.min(tones - 1, (codes[at] % tones) + darker);
        }
      }
    }
  }
  for (const clashing of [0, 1]) {
    for (const { from, to, shift } of runs) {
      const code = 2 * tones + 2 * clashing + (shift === 0 ? 0 : 1);
      for (let i = from; i < to; i++) {
        if (s.clash[i] !== clashing) continue;
        const x = Math.round((s.arc[i] + shift) * by - left - side / 2), y = Math.round(s.down[i] * by - top - side / 2);
        const begin = Math.max(0, x), end = Math.min(wide, x + side), bottom = Math.min(high, y + side);
        for (let row = Math.max(0, y); row < bottom && begin < end; row++) codes.fill(code, row * wide + begin, row * wide + end);
      }
    }
  }
  const colours = new Uint8ClampedArray(4 * (2 * tones + 4));
  for (let k = 0; k < tones; k++) {
    const opacity = 255 * (1 - 0.88 ** k);
    colours.set([...inks.wake, opacity], 4 * k);
    colours.set([...inks.clash, opacity], 4 * (tones + k));
  }
  [inks.pin, inks.clash].forEach((ink, k) => colours.set([...ink, 255, ...ink, 115], 4 * (2 * tones + 2 * k)));
  const words = new Uint32Array(colours.buffer), pixels = new Uint32Array(codes.length);
  for (let at = 0; at < codes.length; at++) pixels[at] = words[codes[at]];
  return { pixels: new Uint8ClampedArray(pixels.buffer), wide, high };
}

/**
 * What lies under a point of the window: the nearest pin or left-out note within reach, else a track.
 * @param {Surface} s
 * @param {View} v
 * @param {number} x  px
 * @param {number} y
 * @param {number} reach  px
 * @returns {{ pin: number, left: number, tooth: number }}  each -1 where there is none
 */
export function under(s, v, x, y, reach) {
  const arc = v.left + x / v.scale, down = v.top + y / v.scale, r = reach / v.scale;
  let pin = -1, left = -1, nearest = r * r;
  for (const shift of [-s.around, 0, s.around]) {
    for (let i = firstFrom(s, arc - r - shift); i < s.arc.length && s.arc[i] + shift <= arc + r; i++) {
      const d = (s.arc[i] + shift - arc) ** 2 + (s.down[i] - down) ** 2;
      if (d <= nearest) [pin, nearest] = [i, d];
    }
  }
  s.scene.left.forEach((note, i) => {
    const d = ((note.deg / 360) * s.around - arc) ** 2 + (downOf(s.scene, note.track) - down) ** 2;
    if (d < nearest) [left, pin, nearest] = [i, -1, d];
  });
  return { pin, left, tooth: toothAt(s, down) };
}

/**
 * The tooth whose track is nearest, within half a spacing; -1 for none.
 * @param {Surface} s
 * @param {number} down  mm
 */
export function toothAt(s, down) {
  const axial = s.scene.bassBottom ? s.height - down : down;
  const tooth = Math.round((axial - s.scene.firstTrackMm) / s.scene.spacingMm) + 1;
  return tooth >= 1 && tooth < s.tracks.length ? tooth : -1;
}

/**
 * The pin to which a step leads: the next or the one before round the turn, or the nearest in time on the nearest track above or below
 * that has one.
 * @param {Surface} s
 * @param {number} pin  -1 for none yet
 * @param {"later" | "earlier" | "up" | "down"} way
 */
export function step(s, pin, way) {
  const n = s.arc.length;
  if (n === 0) return -1;
  if (pin < 0) return way === "earlier" ? n - 1 : 0;
  if (way === "later") return (pin + 1) % n;
  if (way === "earlier") return (pin + n - 1) % n;
  const by = (way === "up") === s.scene.bassBottom ? 1 : -1;
  for (let tooth = s.scene.pins.tooth[pin] + by; tooth >= 1 && tooth < s.byTooth.length; tooth += by) {
    const near = nearestOn(s, tooth, s.arc[pin]);
    if (near >= 0) return near;
  }
  return pin;
}

/**
 * The pin of a track that is nearest to an arc, round the circle; -1 where the track has none.
 * @param {Surface} s
 * @param {number} tooth
 * @param {number} arc
 */
export function nearestOn(s, tooth, arc) {
  let near = -1, least = Infinity;
  for (const i of s.byTooth[tooth]) {
    const d = round(s.arc[i] - arc, s.around);
    if (d < least) [near, least] = [i, d];
  }
  return near;
}

/**
 * A distance round the circle.
 * @param {number} d
 * @param {number} around
 */
export function round(d, around) {
  const m = Math.abs(d) % around;
  return Math.min(m, around - m);
}

/**
 * What moving a pin comes to: how late it is then, in ms from where it was written, held to the tolerance; and which pin of the track it would stand too near
 * to.
 * @param {Surface} s
 * @param {number} pin
 * @param {number} by  mm of arc from where it stands
 * @param {number} tooth  on whose track it is
 * @returns {{ ms: number, by: number, tooNear: number, apartMs: number, needMs: number }}  tooNear -1 where it has room; apartMs to the nearest pin of the track
 */
export function shifted(s, pin, by, tooth) {
  const { scene } = s;
  const had = scene.pins.shiftMs[pin];
  const wish = had + (by / s.around) * scene.turnMs;
  const ms = Math.round(Math.max(-scene.shiftMs, Math.min(scene.shiftMs, wish)) * 10) / 10;
  const moves = ((ms - had) / scene.turnMs) * s.around;
  const needMs = scene.teeth[tooth - 1].repeatMs;
  let tooNear = -1, least = Infinity;
  for (const i of s.byTooth[tooth]) {
    if (i === pin) continue;
    const d = (round(s.arc[i] - s.arc[pin] - moves, s.around) / s.around) * scene.turnMs;
    if (d < least) [tooNear, least] = [i, d];
  }
  return { ms, by: moves, tooNear: least < needMs - 0.01 ? tooNear : -1, apartMs: least, needMs };
}

/**
 * The teeth that a pin's note can go to: twins of its pitch, and octaves of it up to two from where it is written.
 * @param {Surface} s
 * @param {number} pin
 * @returns {number[]}
 */
export function canGoTo(s, pin) {
  const { teeth, pins } = s.scene;
  const written = teeth[pins.tooth[pin] - 1].pitch - 12 * pins.octaves[pin];
  return teeth.flatMap((t, i) => (Math.abs(t.pitch - written) <= 24 && (t.pitch - written) % 12 === 0 ? [i + 1] : []));
}

/**
 * How the pins of one scene differ from those of another: those that go, and those that come.
 * @param {Surface} now
 * @param {Surface} then
 * @returns {{ gone: Set<number>, come: { arc: number, down: number }[] }}
 */
export function changes(now, then) {
  const gone = new Set(), come = /** @type {{ arc: number, down: number }[]} */ ([]);
  now.scene.pins.note.forEach((note, i) => {
    const j = then.index.get(note);
    if (j === undefined || then.scene.pins.tooth[j] !== now.scene.pins.tooth[i] || Math.abs(then.arc[j] - now.arc[i]) > 1e-3) gone.add(i);
  });
  then.scene.pins.note.forEach((note, j) => {
    const i = now.index.get(note);
    if (i === undefined || gone.has(i)) come.push({ arc: then.arc[j], down: then.down[j] });
  });
  return { gone, come };
}

/**
 * What a decision about one note takes from the drawing and puts into it, as far as that can be told before all else is laid out again.
 * @param {Surface} s
 * @param {{ kind?: string, note?: string, tooth?: number, ms?: number }} decision
 * @returns {{ gone: Set<number>, come: { arc: number, down: number }[] } | null} null where it cannot be told, or nothing moves
 */
export function foreseen(s, { kind, note = "", tooth = 0, ms = 0 }) {
  const { pins, left, turnMs } = s.scene;
  const pin = s.index.get(note);
  if (pin === undefined) {
    const back = kind === "release" ? left.find((l) => l.note === note && s.tracks[l.track] > 0) : undefined;
    return back ? { gone: new Set(), come: [{ arc: (back.deg / 360) * s.around, down: s.tracks[back.track] }] } : null;
  }
  const gone = new Set([pin]);
  if (kind === "leave-out") return { gone, come: [] };
  if (kind === "shift" && ms !== pins.shiftMs[pin]) {
    const arc = s.arc[pin] + ((ms - pins.shiftMs[pin]) / turnMs) * s.around;
    return { gone, come: [{ arc: arc - s.around * Math.floor(arc / s.around), down: s.down[pin] }] };
  }
  if (kind === "place" && tooth > 0 && tooth < s.tracks.length && tooth !== pins.tooth[pin]) return { gone, come: [{ arc: s.arc[pin], down: s.tracks[tooth] }] };
  return null;
}

/**
 * The spacing of marks on a scale that is looked at from near or far: 1, 2 or 5 times a power of ten, at least so wide.
 * @param {number} least  in the scale's unit
 */
export function markEvery(least) {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((f) => f * power).find((m) => m >= least - 1e-12) ?? 10 * power;
}
