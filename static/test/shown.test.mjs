import assert from "node:assert/strict";
import { test } from "node:test";
import { differences, onComb } from "../othercomb.js";
import { nameOf } from "../pitch.js";
import { angle, length, lengthUnit, noteIn } from "../shown.js";

const inch = { lengths: "inch" }, dms = { angles: "dms" };

for (const [name, notes, pitch, want] of /** @type {[string, string | undefined, number, string][]} */ ([
  ["nothing chosen", undefined, 71, "B4"],
  ["an unknown language", "latin", 71, "B4"],
  ["German B", "german", 71, "H4"],
  ["German B flat", "german", 70, "B4"],
  ["German F sharp", "german", 78, "Fis5"],
  ["solfège", "solfege", 60, "Do4"],
  ["solfège F sharp", "solfege", 78, "Fa#5"],
  ["the lowest", "german", 11, "H-1"],
  ["the highest", "solfege", 127, "Sol9"],
])) {
  test(`a pitch is named as the reader wants it: ${name}`, () => assert.equal(noteIn(pitch, { notes }), want));
}

test("each pitch has a name of its own in each language, with the octave of its English name", () => {
  for (const notes of [undefined, "german", "solfege"]) {
    const all = new Set();
    for (let pitch = 0; pitch <= 127; pitch++) {
      const name = noteIn(pitch, { notes });
      all.add(name);
      assert.equal(/-?\d+$/.exec(name)?.[0], /-?\d+$/.exec(nameOf(pitch))?.[0]);
    }
    assert.equal(all.size, 128);
  }
});

test("outside of a page figures are as by default", () => {
  assert.deepEqual([noteIn(70), length(12.345, 2), angle(12.345, 1), lengthUnit().name], ["A#4", "12.35 mm", "12.3°", "mm"]);
});

// The same rows as in web/shown_test.go, so that the page and its scripts say the same.
for (const [mm, decimals, want] of /** @type {[number, number, string][]} */ ([
  [0.58, 2, "0.0228 inch"], [0.581, 3, "0.02287 inch"], [0.6, 3, "0.02362 inch"], [15.5, 1, "0.6102 inch"], [25.4, 2, "1.0000 inch"],
])) {
  test(`${mm} mm in inch`, () => assert.equal(length(mm, decimals, inch), want));
}
for (const [deg, decimals, want] of /** @type {[number, number, string][]} */ ([
  [12.34, 2, "12° 20′ 24″"], [12.3, 1, "12° 18′"], [18, 0, "18°"], [0.01, 2, "0° 00′ 36″"], [-0.5, 2, "−0° 30′ 00″"], [-0.00001, 2, "0° 00′ 00″"],
  [11.9999, 2, "12° 00′ 00″"], [359.99999, 2, "360° 00′ 00″"], [0.999, 1, "1° 00′"],
])) {
  test(`${deg}° in sixties`, () => assert.equal(angle(deg, decimals, dms).replaceAll("\u00a0", " "), want));
}

test("an angle in sixties is within half a second, and never has 60 of anything", () => {
  for (let i = 0; i < 20000; i++) {
    const deg = (i * 360) / 19999 - 1e-9;
    const parts = angle(deg, 2, dms).replace("−", "-").match(/-?\d+/g)?.map(Number) ?? [];
    assert.ok(parts.length === 3 && parts[1] < 60 && parts[2] < 60, angle(deg, 2, dms));
    assert.ok(Math.abs(parts[0] * 3600 + parts[1] * 60 + parts[2] - Math.abs(deg) * 3600) <= 0.5 + 1e-6, `${deg} is ${angle(deg, 2, dms)}`);
  }
});

test("a thousandth of a mm is not lost in inch", () => {
  for (let n = 0; n < 40000; n += 7) {
    const back = parseFloat(length(n / 1000, 3, inch)) * 25.4;
    assert.ok(Math.abs(back - n / 1000) < 0.0005, `${n / 1000} mm comes back as ${back}`);
  }
});

test("another comb is named as the cylinder's own is", () => {
  const scene = /** @type {any} */ ({ teeth: [{ note: "B4", pitch: 70, hz: 466, dampMs: 30, twin: 1, repeatMs: 100 }], findings: [], left: [],
    pins: { note: [], tooth: [], deg: [], octaves: [], shiftMs: [], locked: [], bar: [], beat: [] } });
  const name = (/** @type {number} */ pitch) => noteIn(pitch, { notes: "german" });
  assert.equal(onComb(scene, [71], name).teeth[0].note, "H4");
  assert.deepEqual(differences(scene, [71], name).map((d) => [d.is, d.becomes]), [["B4", "H4"]]);
});
