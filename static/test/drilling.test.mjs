import assert from "node:assert/strict";
import { test } from "node:test";
import { angleOf, atHand, joined, marked, meaning, movedDatum, nameOf, nextOpen, placeOf, standsBefore, told, unused } from "../drilling.js";

/** @param {[number, number][]} places @returns {any[]} */
const holesAt = (places) => places.map(([axialMm, angleDeg], i) => ({ axialMm, angleDeg, pin: i + 1 }));
const holes = holesAt([[1.5, 9], [1.5, 180.1234], [2.5, 359.9999]]);

test("a place is named as the server marks it", () => {
  assert.equal(nameOf(holes[1]), "1.500 180.123");
  assert.equal(nameOf(holes[2]), "2.500 0.000", "a whole turn is the datum line");
  for (const hole of holes) assert.equal(nameOf(placeOf(nameOf(hole))), nameOf(hole));
});

test("marks of the device come before those of the server, and what was told is forgotten", () => {
  let kept = joined(null, [placeOf("1.500 9.000"), placeOf("2.500 0.000")], true);
  assert.deepEqual(kept.done, ["1.500 9.000", "2.500 0.000"]);
  kept = marked(marked(kept, holes[0], false), holes[1], true);
  const again = joined(JSON.parse(JSON.stringify(kept)), [placeOf("1.500 9.000"), placeOf("2.500 0.000")], true);
  assert.deepEqual(new Set(again.done), new Set(["2.500 0.000", "1.500 180.123"]));
  const sent = { ...again.untold };
  const meanwhile = marked(again, holes[1], false);
  assert.deepEqual(told(again, sent).untold, {});
  assert.deepEqual(told(meanwhile, sent).untold, { "1.500 180.123": false }, "a mark that was changed meanwhile is still to be told");
});

test("a page that was put by knows less than the device, and the server now knows more", () => {
  const kept = marked(joined(null, [], true), holes[0], true);
  const later = told(kept, kept.untold);
  assert.deepEqual(joined(later, [], false).done, ["1.500 9.000"]);
  assert.deepEqual(joined(later, [placeOf("2.500 0.000")], true).done, ["2.500 0.000"], "another device took the mark back");
});

test("what was stored by something else counts as nothing", () => {
  for (const odd of [null, 3, "x", [], { at: 5, untold: { "<b>": true, "1.500 9.000": "yes" } }]) {
    const kept = joined(odd, [], true);
    assert.equal(kept.at, "");
    assert.deepEqual(kept.done, []);
  }
});

test("the hole at hand is the one that was, else the first that is open", () => {
  const none = joined(null, [], true);
  assert.equal(atHand(holes, none), 0);
  assert.equal(atHand(holes, { ...none, at: nameOf(holes[2]) }), 2);
  assert.equal(atHand(holes, { ...none, at: "9.000 9.000" }), 0, "the hole that was is not there any more");
  assert.equal(atHand(holes, marked(none, holes[0], true)), 1);
  const all = holes.reduce((kept, hole) => marked(kept, hole, true), none);
  assert.equal(atHand(holes, all), 2);
  assert.equal(atHand([], none), -1);
});

test("drilling goes on round the end until nothing is open, each hole once", () => {
  for (let start = 0; start < holes.length; start++) {
    let kept = joined(null, [], true), at = start;
    const visited = [];
    while (at >= 0) {
      visited.push(at);
      kept = marked(kept, holes[at], true);
      at = nextOpen(holes, kept, at);
    }
    assert.equal(new Set(visited).size, holes.length);
    assert.equal(visited.length, holes.length);
  }
});

test("holes that no pin uses are told", () => {
  const kept = marked(marked(joined(null, [], true), holes[0], true), { axialMm: 1.5, angleDeg: 10 }, true);
  assert.deepEqual(unused(holes, kept), [{ axialMm: 1.5, angleDeg: 10 }]);
});

test("pedals and keys", () => {
  for (const [key, means] of [["Enter", "drilled"], [" ", "drilled"], ["PageDown", "drilled"], ["PageUp", "back"], ["ArrowRight", "next"], ["ArrowLeft", "back"], ["Backspace", "back"], ["x", ""], ["Tab", ""]]) {
    assert.equal(meaning(key), means, key);
  }
});

test("a move is counted from the hole before only where that was drilled last", () => {
  let kept = joined(null, [], true);
  assert.ok(standsBefore(holes, kept, 0), "at first the datum line lies under the drill");
  assert.ok(!standsBefore(holes, kept, 1));
  kept = marked(kept, holes[0], true);
  assert.ok(standsBefore(holes, kept, 1) && !standsBefore(holes, kept, 2) && !standsBefore(holes, kept, 0));
  kept = marked(kept, holes[1], true);
  assert.ok(standsBefore(holes, kept, 2) && !standsBefore(holes, kept, 1), "after going back the cylinder stands elsewhere");
  kept = marked(kept, holes[1], false);
  assert.ok(!standsBefore(holes, kept, 2));
  assert.ok(standsBefore(holes, joined(JSON.parse(JSON.stringify(marked(kept, holes[1], true))), [], false), 2), "over a reload too");
});

test("where a hole is can be told in degrees, in mm past its place, or in units of the tool", () => {
  const work = /** @type {any} */ ({ circumferenceMm: 40, units: 1960 });
  const hole = /** @type {any} */ ({ angleDeg: 350 });
  for (const [how, value, want] of [["deg", 12.5, 12.5], ["deg", 360, 360], ["mm", 1, 359], ["mm", -1, 341], ["mm", 2, 8], ["units", 49, 359], ["units", -98, 332], ["units", 98, 8]]) {
    assert.ok(Math.abs(angleOf(work, hole, String(how), Number(value)) - Number(want)) < 1e-9, `${how} ${value}`);
  }
  for (const [how, value] of [["deg", -1], ["deg", 361], ["deg", NaN], ["mm", NaN]]) assert.ok(Number.isNaN(angleOf(work, hole, String(how), Number(value))), `${how} ${value}`);
  assert.ok(Number.isNaN(angleOf({ ...work, units: 0 }, hole, "units", 1)));
});

test("from a new datum line what is in the metal lies nearer, and all of it is kept in mind", () => {
  const kept = marked(marked(joined(null, [], true), holes[0], true), { axialMm: 1.5, angleDeg: 200 }, true);
  const then = movedDatum(kept, 10);
  assert.deepEqual(new Set(then.done), new Set(["1.500 359.000", "1.500 190.000"]));
  assert.equal(then.datumDeg, 10);
  assert.equal(then.untold["1.500 9.000"], false);
  assert.equal(then.untold["1.500 359.000"], true);
  assert.deepEqual(unused(holes, then).length, 2);
  const back = movedDatum(then, 350);
  assert.deepEqual(new Set(back.done), new Set(kept.done));
  assert.equal(back.datumDeg, 0);
  assert.ok(standsBefore(holes, then, 0));
});
