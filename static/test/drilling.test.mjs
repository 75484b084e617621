import assert from "node:assert/strict";
import { test } from "node:test";
import { atHand, joined, marked, meaning, nameOf, nextOpen, placeOf, told, unused } from "../drilling.js";

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
