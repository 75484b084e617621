import assert from "node:assert/strict";
import { test } from "node:test";
import { differences, inWords, onComb, pitchOf, readComb } from "../othercomb.js";
import { frequencyOf, nameOf } from "../pitch.js";

/** @returns {any} */
const scene = () => ({
  teeth: [60, 64, 67].map((pitch) => ({ pitch, note: nameOf(pitch), hz: frequencyOf(pitch), dampMs: 15000 / frequencyOf(pitch), repeatMs: 250, twin: 1 })),
  pins: { note: ["n1", "n2", "n3", "n4"], tooth: [1, 3, 2, 3], deg: [10, 20, 30, 40], octaves: [0, 0, 0, 0], shiftMs: [0, 0, 0, 0], locked: [1, 2], bar: [1, 1, 1, 2], beat: [1, 2, 3, 1] },
  left: [{}], findings: [{}],
});

test("names are read as they are written", () => {
  // Scientific pitch notation, C4 = MIDI 60, A4 = 440 Hz (ISO 16).
  for (const [text, pitch] of [["C4", 60], ["a4", 69], ["F#5", 78], ["Bb4", 70], ["B♭4", 70], ["Cb4", 59], ["B#3", 60], ["C-1", 0], ["G9", 127], ["G#9", -1], ["H4", -1], ["", -1], ["C", -1], ["C44", -1]]) {
    assert.equal(pitchOf(/** @type {string} */ (text)), pitch, String(text));
  }
  for (let p = 0; p < 128; p++) assert.equal(pitchOf(nameOf(p)), p);
  assert.ok(Math.abs(frequencyOf(69) - 440) < 1e-12 && Math.abs(frequencyOf(60) - 261.6256) < 1e-4);
});

test("a comb is read lowest first, and what is no note is named", () => {
  assert.deepEqual(readComb(" G4, C4;E4 x9 "), { pitches: [60, 64, 67], wrong: ["x9"] });
});

test("the same comb changes nothing", () => {
  assert.deepEqual(differences(scene(), [60, 64, 67]), []);
  assert.deepEqual(onComb(scene(), [60, 64, 67]).pins, scene().pins);
});

test("each track sounds what its tooth is tuned to", () => {
  const then = onComb(scene(), [60, 63, 72, 80]);
  assert.deepEqual(then.teeth.map((t) => t.note), ["C4", "D#4", "C5"]);
  assert.deepEqual(then.pins.tooth, [1, 3, 2, 3]);
  assert.ok(Math.abs(then.teeth[2].dampMs - 15000 / frequencyOf(72)) < 1e-9);
  assert.deepEqual(differences(scene(), [60, 63, 72, 80]), [
    { tooth: 2, is: "E4", becomes: "D#4", by: -1, pins: 1 }, { tooth: 3, is: "G4", becomes: "C5", by: 5, pins: 2 }]);
});

test("a track without a tooth is silent, and says so", () => {
  const then = onComb(scene(), [60, 64]);
  assert.deepEqual(then.pins.note, ["n1", "n3"]);
  assert.deepEqual(then.pins.locked, [1]);
  const [d] = differences(scene(), [60, 64]);
  assert.equal(inWords(d), "G4 falls silent: the other comb has no such tooth (2 pins)");
  assert.equal(inWords(differences(scene(), [60, 65, 67])[0]), "E4 becomes F4, a semitone higher (one pin)");
});
