import assert from "node:assert/strict";
import { test } from "node:test";
import { nameOf } from "../pitch.js";
import * as writing from "../writing.js";

/** Bars of some beats each, equally long, between two angles. @param {number[]} beats */
const barsOf = (beats, from = 9, to = 351, first = 1) =>
  beats.map((n, i) => ({ number: first + i, deg: from + ((to - from) * i) / beats.length, endDeg: from + ((to - from) * (i + 1)) / beats.length, beats: n }));

test("pitches have the names that the server gives them", () => {
  for (const [pitch, name] of /** @type {[number, string][]} */ ([[60, "C4"], [69, "A4"], [73, "C#5"], [82, "A#5"], [0, "C-1"], [127, "G9"]])) {
    assert.equal(nameOf(pitch), name);
  }
});

for (const [name, letter, sharp, last, want] of /** @type {[string, string, boolean, number, string][]} */ ([
  ["the same note", "c", false, 72, "C5"],
  ["the next above", "d", false, 72, "D5"],
  ["the next below, across the octave", "b", false, 72, "B4"],
  ["a fourth down is nearer than a fifth up", "g", false, 72, "G4"],
  ["a fourth up is nearer than a fifth down", "f", false, 72, "F5"],
  ["of two equally near the higher", "f", true, 72, "F#5"],
  ["a sharp", "c", true, 74, "C#5"],
  ["B sharp is the C above", "b", true, 71, "C5"],
  ["not above the highest", "b", false, 127, "B8"],
  ["not below the lowest", "b", false, 0, "B-1"],
])) {
  test(`a letter means the pitch nearest to the last: ${name}`, () => assert.equal(nameOf(writing.pitchOf(letter, sharp, last)), want));
}

test("a letter is never more than six semitones away, and has its own pitch class", () => {
  for (let last = 6; last <= 121; last++) {
    for (const [i, letter] of [..."cdefgab"].entries()) {
      const pitch = writing.pitchOf(letter, false, last);
      assert.ok(Math.abs(pitch - last) <= 6 && pitch % 12 === [0, 2, 4, 5, 7, 9, 11][i], `${letter} beside ${last} is ${pitch}`);
    }
  }
});

test("other keys mean no pitch", () => {
  for (const key of ["h", "", "cc", "Escape", "C", "1"]) assert.equal(writing.pitchOf(key, false, 72), -1);
});

for (const [name, beats, place, by, want] of /** @type {[string, number[], [number, number], number, [number, number]][]} */ ([
  ["on", [4, 4], [1, 1], 1, [1, 2]],
  ["over the bar line", [4, 4], [1, 4.5], 0.5, [2, 1]],
  ["back over the bar line", [4, 3], [2, 1], -0.5, [1, 4.5]],
  ["through a short bar", [4, 1, 4], [1, 4], 2.5, [3, 1.5]],
  ["past the last bar, which the last one's length holds for", [4, 3], [2, 3], 1, [3, 1]],
  ["back from there", [4, 3], [3, 1], -1, [2, 3]],
  ["not before the first bar", [4, 4], [1, 1], -1, [1, 1]],
  ["no beats at all: bars of four", [], [1, 4], 1, [2, 1]],
])) {
  test(`the place moves ${name}`, () => assert.deepEqual(writing.onBy(barsOf(beats), { bar: place[0], beat: place[1] }, by, 1), { bar: want[0], beat: want[1] }));
}

test("so many steps on and back lead to where they began, without dust", () => {
  const bars = barsOf([4, 3, 5, 2.5, 4]);
  for (const { beats } of writing.steps) {
    let place = { bar: 1, beat: 1 };
    for (let k = 0; k < 100; k++) place = writing.onBy(bars, place, beats, 1);
    for (let k = 0; k < 100; k++) place = writing.onBy(bars, place, -beats, 1);
    assert.deepEqual(place, { bar: 1, beat: 1 });
  }
});

test("every place is found again at its angle", () => {
  const bars = barsOf([4, 3, 5, 4, 2]);
  for (const { beats: step } of writing.steps) {
    let n = 0;
    for (let place = { bar: 1, beat: 1 }; place.bar <= 5; place = writing.onBy(bars, place, step, 1), n++) {
      const deg = /** @type {number} */ (writing.degOf(bars, place));
      assert.deepEqual(writing.placeAt(bars, deg, step), place);
      assert.deepEqual(writing.placeAt(bars, deg + 0.2 * step, step), place); // a beat is at least 13 degrees wide here
    }
    assert.equal(n, 18 / step);
  }
});

for (const [name, deg, step, want] of /** @type {[string, number, number, [number, number] | null][]} */ ([
  ["a little before the first line", 8, 1, [1, 1]],
  ["far before the first line", 1, 0.25, null],
  ["after the end", 355, 1, null],
  ["nearer to the next bar's line", 179, 1, [2, 1]],
  ["at the very end: the last step", 350.9, 1, [2, 4]],
])) {
  test(`the place under an angle, ${name}`, () => assert.deepEqual(writing.placeAt(barsOf([4, 4]), deg, step), want && { bar: want[0], beat: want[1] }));
}

test("a bar whose line lies in the gap has its later beats on the turn", () => {
  const bars = barsOf([4, 4], -20, 351);
  assert.deepEqual(writing.placeAt(bars, 26, 1), { bar: 1, beat: 2 });
});

test("a chord is written in one step, a note by itself", () => {
  assert.deepEqual(writing.adding([72], { bar: 2, beat: 1.5 }), { kind: "add", pitch: "C5", bar: 2, beat: 1.5 });
  assert.deepEqual(writing.adding([72, 76], { bar: 1, beat: 1 }), { kind: "several", decisions: [
    { kind: "add", pitch: "C5", bar: 1, beat: 1 }, { kind: "add", pitch: "E5", bar: 1, beat: 1 }] });
});

test("keys within 30 ms of the first are one chord, the next one begins another", () => {
  let chord = null;
  const done = [];
  for (const [pitch, at] of [[76, 100], [72, 115], [76, 120], [79, 130], [80, 130.5], [81, 500]]) {
    const next = writing.press(chord, pitch, at);
    if (next.done) done.push(next.done.pitches);
    chord = next.chord;
  }
  assert.deepEqual([done, chord?.pitches], [[[72, 76, 79], [80]], [81]]);
});

for (const [name, data, want] of /** @type {[string, number[], number][]} */ ([
  ["a key", [0x90, 72, 64], 72],
  ["a key on another channel", [0x93, 60, 1], 60],
  ["a release", [0x80, 72, 64], -1],
  ["a press with velocity 0", [0x90, 72, 0], -1],
  ["a drum", [0x99, 38, 90], -1],
  ["a pedal", [0xb0, 64, 127], -1],
  ["a clock", [0xf8], -1],
])) {
  test(`a message of a keyboard: ${name}`, () => assert.equal(writing.pressed(data), want));
}

test("notes by hand are told from those of the file", () => {
  assert.deepEqual(["a1", "a12", "n1", "a", "ab1"].map(writing.byHand), [true, true, false, false, false]);
});
