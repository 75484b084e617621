import { frequencyOf } from "./pitch.js";
import { say } from "./say.js";
import { releaseMs } from "./scene.js";

/** @import { Scene } from "./scene.js" */

/** Roots of cos β·cosh β = −1: a uniform bar clamped at one end (any textbook on vibration). */
const ROOTS = [1.8751, 4.6941, 7.8548];

/** Partials above this share of the sample rate are left out. */
const HIGHEST = 0.45;

/** What happens to a tooth: a pin lets it go, its damper touches it, a pin holds it. The order is that of things at one moment. */
export const PLUCK = 0;
export const TOUCH = 1;
export const HOLD = 2;

/**
 * The partials of a tooth that was plucked at its tip: what is heard goes with velocity.
 * @typedef {{ hz: number[], level: number[], fallS: number[] }} Partials  fallS: the time in which a level falls to 1/e
 * @typedef {Partials & { dampS: number }} Voice  dampS: the time in which the damper takes 60 dB
 *
 * What plays: times are ms on the cylinder from the datum line on, teeth count from 0.
 * @typedef {{ hz: number, dampMs: number }} Bar
 * @typedef {{ atMs: number, tooth: number, seed: number }} Pluck
 * @typedef {{ turnMs: number, contactMs: number, quality: number, teeth: Bar[], plucks: Pluck[] }} Score
 * @typedef {{ atMs: number, what: number, tooth: number, seed: number }} Cue
 *
 * Cues as ring.js takes them.
 * @typedef {{ frame: Float64Array, what: Uint8Array, tooth: Uint16Array, seed: Uint32Array }} Columns
 */

/**
 * Gives f·(β_n/β_1)², levels ∝ (f_n/f)/β_n⁴ with a sum of squares of 1, and τ_n = Q/(π f_n).
 * @param {number} hz  of the lowest
 * @param {number} quality  Q
 * @param {number} rate  samples a second
 * @returns {Partials}
 */
export function partials(hz, quality, rate) {
  const all = ROOTS.map((root) => ({ hz: hz * (root / ROOTS[0]) ** 2, level: (ROOTS[0] / root) ** 2 })).filter((p) => p.hz <= HIGHEST * rate);
  const whole = Math.hypot(...all.map((p) => p.level));
  return { hz: all.map((p) => p.hz), level: all.map((p) => p.level / whole), fallS: all.map((p) => quality / (Math.PI * p.hz)) };
}

/**
 * @param {Bar} bar
 * @param {number} quality
 * @param {number} rate
 * @returns {Voice}
 */
export function voice(bar, quality, rate) {
  return { ...partials(bar.hz, quality, rate), dampS: bar.dampMs / 1000 };
}

/**
 * The pins as they stand.
 * @param {Scene} scene
 * @param {ReadonlySet<number> | null} chosen  the only teeth that are heard, from 1; null hears all
 * @returns {Score}
 */
export function arranged(scene, chosen) {
  const { tooth, deg } = scene.pins;
  const plucks = tooth.map((t, i) => ({ atMs: releaseMs(scene, deg[i]), tooth: t - 1, seed: i + 1 }));
  return {
    turnMs: scene.turnMs, contactMs: releaseMs(scene, scene.contactDeg), quality: scene.quality, teeth: scene.teeth,
    plucks: chosen ? plucks.filter((p) => chosen.has(p.tooth + 1)) : plucks,
  };
}

/**
 * The notes as written, in the key that is played, each on an imagined tooth of its own pitch that no pin has to lift. What the turn
 * does not reach is not heard.
 * @param {Scene} scene
 * @param {ReadonlySet<number> | null} chosen  only the notes of these teeth's pins, from 1; null hears all
 * @returns {Score}
 */
export function written(scene, chosen) {
  const { note, atMs, pitch } = scene.written;
  const pitches = [...new Set(pitch)].sort((a, b) => a - b);
  const place = new Map(pitches.map((p, i) => [p, i]));
  const heard = chosen && new Set(scene.pins.note.filter((_, i) => chosen.has(scene.pins.tooth[i])));
  const start = releaseMs(scene, scene.gapDeg / 2);
  const plucks = [];
  for (let i = 0; i < note.length; i++) {
    const at = start + atMs[i];
    if (at < scene.turnMs && (!heard || heard.has(note[i]))) plucks.push({ atMs: at, tooth: place.get(pitch[i]) ?? 0, seed: i + 1 });
  }
  return { turnMs: scene.turnMs, contactMs: 0, quality: scene.quality, teeth: pitches.map((p) => imagined(scene, p)), plucks };
}

/**
 * The tooth on which a note is heard by itself: its own where it has a pin, else one of its pitch as written in the key that is played.
 * @param {Scene} scene
 * @param {string} note
 * @returns {Bar | null} null where the scene has no such note
 */
export function alone(scene, note) {
  const pin = scene.pins.note.indexOf(note);
  if (pin >= 0) return scene.teeth[scene.pins.tooth[pin] - 1] ?? null;
  const left = scene.left.find((l) => l.note === note);
  return left ? imagined(scene, left.pitch) : null;
}

/**
 * A tooth of a pitch with dampers like those of the comb.
 * @param {Scene} scene
 * @param {number} pitch
 * @returns {Bar}
 */
function imagined(scene, pitch) {
  const like = scene.teeth[0];
  const cycles = like ? like.dampMs * like.hz : 15_000; // the setup's default where there is no comb
  return { hz: frequencyOf(pitch), dampMs: cycles / frequencyOf(pitch) };
}

/**
 * Everything that happens in one turn, round the circle and in order. A damper touches its tooth so long before the next pin meets it that
 * the tooth is still by then, but not before it was plucked. Contact goes with the cylinder, damping with the tooth, which keeps its own time
 * however fast the cylinder turns.
 * @param {Score} score
 * @param {number} speed  1 is that of the cylinder
 * @returns {Cue[]} by time, 0 to the turn's
 */
export function turn(score, speed) {
  const { turnMs, contactMs, teeth } = score;
  /** @type {Pluck[][]} */
  const rows = teeth.map(() => []);
  for (const pluck of score.plucks) rows[pluck.tooth].push(pluck);
  /** @type {Cue[]} */
  const cues = [];
  rows.forEach((row, tooth) => {
    row.sort((a, b) => a.atMs - b.atMs);
    row.forEach(({ atMs, seed }, i) => {
      const next = i + 1 < row.length ? row[i + 1].atMs : row[0].atMs + turnMs;
      const met = next - contactMs;
      cues.push({ atMs, what: PLUCK, tooth, seed });
      cues.push({ atMs: Math.max(atMs, met - teeth[tooth].dampMs * speed) % turnMs, what: TOUCH, tooth, seed });
      if (contactMs > 0) cues.push({ atMs: Math.max(atMs, met) % turnMs, what: HOLD, tooth, seed });
    });
  });
  return cues.sort((a, b) => a.atMs - b.atMs || a.what - b.what);
}

/**
 * What happens in a window of time while the cylinder goes round and round.
 * @param {Cue[]} cues  of one turn
 * @param {number} turnMs
 * @param {number} fromMs  first turn's datum line is 0
 * @param {number} toMs  not in the window itself
 * @returns {Cue[]} with times from the first turn's datum line on
 */
export function between(cues, turnMs, fromMs, toMs) {
  const found = [];
  for (let lap = Math.floor(fromMs / turnMs); lap * turnMs < toMs && cues.length > 0; lap++) {
    for (const cue of cues) {
      const atMs = cue.atMs + lap * turnMs;
      if (atMs >= fromMs && atMs < toMs) found.push({ ...cue, atMs });
    }
  }
  return found;
}

/**
 * Lays cues out on the samples of a sound.
 * @param {Cue[]} cues
 * @param {(atMs: number) => number} frameAt  of a time on the cylinder
 * @returns {Columns}
 */
export function columns(cues, frameAt) {
  return {
    frame: Float64Array.from(cues, (c) => Math.floor(frameAt(c.atMs))), what: Uint8Array.from(cues, (c) => c.what),
    tooth: Uint16Array.from(cues, (c) => c.tooth), seed: Uint32Array.from(cues, (c) => c.seed),
  };
}

/**
 * The teeth of one comb on another, which has other numbers; twins are told apart.
 * @param {Scene} before
 * @param {Scene} after
 * @param {ReadonlySet<number>} chosen  numbers of the first
 * @returns {Set<number> | null} numbers of the second; null where none of them is there
 */
export function sameTeeth(before, after, chosen) {
  const same = new Set();
  after.teeth.forEach((tooth, i) => {
    const old = before.teeth.findIndex((t) => t.pitch === tooth.pitch && t.twin === tooth.twin);
    if (old >= 0 && chosen.has(old + 1)) same.add(i + 1);
  });
  return same.size > 0 ? same : null;
}

/** Speeds in words, the slowest first. */
export const PACES = [
  { speed: 1 / 8, words: say("an eighth of the speed") },
  { speed: 1 / 4, words: say("quarter speed") },
  { speed: 1 / 2, words: say("half speed") },
  { speed: 3 / 4, words: say("three quarters of the speed") },
  { speed: 1, words: say("full speed") },
  { speed: 3 / 2, words: say("one and a half times the speed") },
  { speed: 2, words: say("twice the speed") },
];
