/**
 * Writing a tune by hand: which pitch a letter means, where the next note goes, where on the turn a bar and beat lies. Calculation only.
 *
 * Pitches are MIDI numbers, C4 = 60. Beats count from 1 at the bar line, in units of the meter's denominator, as the decision `add` counts them.
 *
 * @import { Bar, Scene } from "./scene.js"
 *
 * @typedef {{ bar: number, beat: number }} Place
 */
import { nameOf, names } from "./pitch.js";
import { say } from "./say.js";

/** By how much a note moves on, the key's digit less one its place in the list. */
export const steps = [
  { words: say("a whole beat"), beats: 1 }, { words: say("half a beat"), beats: 1 / 2 }, { words: say("a quarter of a beat"), beats: 1 / 4 },
  { words: say("an eighth of a beat"), beats: 1 / 8 }, { words: say("a sixteenth of a beat"), beats: 1 / 16 },
];

/** Keys that begin together within so many ms are a chord. */
export const chordMs = 30;

/** Less of a beat than this is no difference of place; the server takes no note nearer to the end of its bar. */
const slight = 0.001;

/**
 * The pitch that a letter means beside another: that of its octaves which is nearest, the higher of two equally near.
 * @param {string} letter  a to g
 * @param {boolean} sharp
 * @param {number} last  the pitch that it stands beside
 * @returns {number} -1 where the letter is none of them
 */
export function pitchOf(letter, sharp, last) {
  const natural = /^[a-g]$/.test(letter) ? names.indexOf(letter.toUpperCase()) : -1;
  if (natural < 0) return -1;
  const above = (((natural + (sharp ? 1 : 0) - last) % 12) + 12) % 12; // 0 to 11 semitones above the last
  const pitch = last + (above <= 6 ? above : above - 12);
  return pitch > 127 ? pitch - 12 : pitch < 0 ? pitch + 12 : pitch;
}

/**
 * The length of a bar; of one that does not play, that of the nearest that does, or four.
 * @param {Bar[]} bars
 * @param {number} number
 */
export function beatsIn(bars, number) {
  const near = bars.reduce((/** @type {Bar | null} */ best, b) => (best && Math.abs(best.number - number) <= Math.abs(b.number - number) ? best : b), null);
  return near && near.beats > 0 ? near.beats : 4;
}

/**
 * The place some beats later, earlier where negative; never before the tune's first bar.
 * @param {Bar[]} bars
 * @param {Place} place
 * @param {number} by  beats
 * @param {number} firstBar
 * @returns {Place}
 */
export function onBy(bars, place, by, firstBar) {
  let { bar, beat } = place;
  beat += by;
  while (beat > 1 + beatsIn(bars, bar) - slight) beat -= beatsIn(bars, bar++);
  while (beat < 1 - slight) {
    if (bar <= firstBar) return { bar: firstBar, beat: 1 };
    beat += beatsIn(bars, --bar);
  }
  return { bar, beat: Math.max(1, tidy(beat)) };
}

/** @param {number} beat @returns {number} to a millionth, so that sums of steps show no dust */
const tidy = (beat) => Math.round(beat * 1e6) / 1e6;

/** @param {Place} place */
export const placeInWords = ({ bar, beat }) => say("bar {1}, beat {2}", bar, Math.round(beat * 1000) / 1000);

/** @param {Place} a @param {Place} b */
export const samePlace = (a, b) => a.bar === b.bar && Math.abs(a.beat - b.beat) < slight;

/**
 * The place under an angle, at the nearest step from its bar line. Within a bar beats are taken to be equally far apart, as they are where the
 * tempo changes at bar lines only.
 * @param {Bar[]} bars
 * @param {number} deg  from the datum line
 * @param {number} step  beats
 * @returns {Place | null} null in the silent gap, and wherever else no bar is
 */
export function placeAt(bars, deg, step) {
  for (const [i, b] of bars.entries()) {
    const beat = 1 + ((deg - b.deg) / (b.endDeg - b.deg)) * b.beats;
    const leads = i === 0 && beat >= 1 - step / 2 && beat < 1; // no more than half a step before the first line
    if (!leads && (deg < b.deg || deg >= b.endDeg)) continue;
    const snapped = 1 + Math.round((beat - 1) / step) * step;
    if (snapped <= 1 + b.beats - slight) return { bar: b.number, beat: tidy(snapped) };
    const next = bars[i + 1];
    return next ? { bar: next.number, beat: 1 } : { bar: b.number, beat: tidy(1 + Math.floor((b.beats - slight) / step) * step) };
  }
  return null;
}

/**
 * The angle of a place.
 * @param {Bar[]} bars
 * @param {Place} place
 * @returns {number | null} degrees from the datum line; null where its bar does not play
 */
export function degOf(bars, place) {
  const b = bars.find((x) => x.number === place.bar);
  return b ? b.deg + ((place.beat - 1) / b.beats) * (b.endDeg - b.deg) : null;
}

/** @param {Bar[]} bars @param {Place} place @returns {boolean} reports whether the bar plays */
export const plays = (bars, place) => bars.some((b) => b.number === place.bar);

/** @param {string} note @returns {boolean} reports whether the note was written by hand and not read from a file */
export const byHand = (note) => /^a\d+$/.test(note);

/**
 * The decision that writes notes at one place.
 * @param {number[]} pitches  at least one
 * @param {Place} place
 */
export function adding(pitches, place) {
  const all = pitches.map((pitch) => ({ kind: "add", pitch: nameOf(pitch), ...place }));
  return all.length === 1 ? all[0] : { kind: "several", decisions: all };
}

/**
 * The pitch that is to be written for a tooth to sound, in the key that is played.
 * @param {Scene} scene
 * @param {number} tooth  from 1
 */
export const writtenFor = (scene, tooth) => scene.teeth[tooth - 1].pitch - scene.transpose;

/**
 * Keys that were pressed together so far.
 * @typedef {{ fromMs: number, pitches: number[] }} Chord
 */

/**
 * Takes a key that was pressed into the chord that is being pressed.
 * @param {Chord | null} chord
 * @param {number} pitch
 * @param {number} atMs
 * @returns {{ chord: Chord, done: Chord | null }}  done is the chord before, where the key begins another
 */
export function press(chord, pitch, atMs) {
  if (!chord || atMs - chord.fromMs > chordMs) return { chord: { fromMs: atMs, pitches: [pitch] }, done: chord };
  if (chord.pitches.includes(pitch)) return { chord, done: null };
  return { chord: { fromMs: chord.fromMs, pitches: [...chord.pitches, pitch].sort((a, b) => a - b) }, done: null };
}

/**
 * The pitch of a message from a keyboard (MIDI 1.0: status 9n, pitch, velocity; velocity 0 is a release). Channel 10 is no keyboard's, but drums'.
 * @param {ArrayLike<number>} data
 * @returns {number} -1 where it presses no key
 */
export function pressed(data) {
  return data.length >= 3 && (data[0] & 0xf0) === 0x90 && (data[0] & 0x0f) !== 9 && data[2] > 0 && data[1] < 128 ? data[1] : -1;
}
