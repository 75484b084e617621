/**
 * The same cylinder on another comb: a track sounds what the tooth that it meets is tuned to, whatever the pins were set for. Calculation only.
 *
 * @import { Scene, Tooth } from "./scene.js"
 */
import { frequencyOf, isPitch } from "./pitch.js";
import { say } from "./say.js";
import { noteIn } from "./shown.js";

const steps = /** @type {Record<string, number>} */ ({ C: 0, D: 2, E: 4, F: 5, G: 7, A: 9, B: 11 });

/**
 * The MIDI number of a note in scientific pitch notation, C4 = 60; -1 where the text is none. Sharps are # or ♯, flats b or ♭.
 * @param {string} text
 */
export function pitchOf(text) {
  const m = /^([A-Ga-g])([#♯b♭]{0,2})(-?\d{1,2})$/.exec(text.trim());
  if (!m) return -1;
  let pitch = 12 * (Number(m[3]) + 1) + steps[m[1].toUpperCase()];
  for (const sign of m[2]) pitch += sign === "#" || sign === "♯" ? 1 : -1;
  return isPitch(pitch) ? pitch : -1;
}

/**
 * Reads the notes of a comb, lowest first whatever the order in which they are written.
 * @param {string} text  note names, divided by spaces or commas
 * @returns {{ pitches: number[], wrong: string[] }}
 */
export function readComb(text) {
  const words = text.split(/[\s,;]+/).filter((w) => w !== "");
  const wrong = words.filter((w) => pitchOf(w) < 0);
  return { pitches: words.map(pitchOf).filter((p) => p >= 0).sort((a, b) => a - b), wrong };
}

/**
 * The scene with another comb in the comb's place: tooth k of it under track k. Tracks beyond its last tooth meet nothing.
 * @param {Scene} scene
 * @param {number[]} pitches  lowest first
 * @param {(pitch: number) => string} name  as the scene's own notes are named
 * @returns {Scene}
 */
export function onComb(scene, pitches, name = (pitch) => noteIn(pitch)) {
  const teeth = scene.teeth.slice(0, pitches.length).map((t, i) => {
    const hz = frequencyOf(pitches[i]);
    return { ...t, pitch: pitches[i], note: name(pitches[i]), hz, dampMs: (t.dampMs * t.hz) / hz };
  });
  const kept = scene.pins.tooth.flatMap((tooth, i) => (tooth <= teeth.length ? [i] : []));
  const column = (/** @type {any[]} */ of) => kept.map((i) => of[i]);
  const { note, tooth, deg, octaves, shiftMs, bar, beat, locked } = scene.pins;
  const place = new Map(kept.map((i, at) => [i, at]));
  return {
    ...scene, teeth, findings: [], left: [],
    pins: { note: column(note), tooth: column(tooth), deg: column(deg), octaves: column(octaves), shiftMs: column(shiftMs), bar: column(bar), beat: column(beat),
      locked: locked.flatMap((i) => place.get(i) ?? []) },
  };
}

/**
 * Where the other comb sounds something else, tooth by tooth, lowest first.
 * @param {Scene} scene
 * @param {number[]} pitches
 * @param {(pitch: number) => string} name  as the scene's own notes are named
 * @returns {{ tooth: number, is: string, becomes: string, by: number, pins: number }[]}  becomes is empty and by 0 where the other comb has no such tooth
 */
export function differences(scene, pitches, name = (pitch) => noteIn(pitch)) {
  const pins = new Map();
  for (const tooth of scene.pins.tooth) pins.set(tooth, (pins.get(tooth) ?? 0) + 1);
  return scene.teeth.flatMap((/** @type {Tooth} */ t, i) => {
    if (pitches[i] === t.pitch) return [];
    const there = i < pitches.length;
    return [{ tooth: i + 1, is: t.note, becomes: there ? name(pitches[i]) : "", by: there ? pitches[i] - t.pitch : 0, pins: pins.get(i + 1) ?? 0 }];
  });
}

/** @param {number} n @returns {string} so many pins */
export function pinsInWords(n) {
  if (n === 0) return say("no pins");
  return n === 1 ? say("one pin") : say("{1} pins", n);
}

/**
 * In words how a tooth differs.
 * @param {{ is: string, becomes: string, by: number, pins: number }} d
 */
export function inWords(d) {
  const pins = pinsInWords(d.pins);
  if (d.becomes === "") return say("{1} falls silent: the other comb has no such tooth ({2})", d.is, pins);
  if (d.by === 1) return say("{1} becomes {2}, a semitone higher ({3})", d.is, d.becomes, pins);
  if (d.by === -1) return say("{1} becomes {2}, a semitone lower ({3})", d.is, d.becomes, pins);
  if (d.by > 0) return say("{1} becomes {2}, {3} semitones higher ({4})", d.is, d.becomes, d.by, pins);
  return say("{1} becomes {2}, {3} semitones lower ({4})", d.is, d.becomes, -d.by, pins);
}
