import assert from "node:assert/strict";
import { test } from "node:test";
import * as surface from "../surface.js";

/** A scene of pins in order of angle, on teeth C4, E4, C5, C5. @returns {any} */
function sceneOf(pins, more = {}) {
  return {
    circumferenceMm: 40, lengthMm: 20, firstTrackMm: 1.5, spacingMm: 1, bassBottom: true, turnMs: 16000, shiftMs: 25,
    teeth: [60, 64, 72, 72].map((pitch, i) => ({ pitch, note: `t${i}`, hz: 440, dampMs: 30, repeatMs: 200, twin: i === 3 ? 2 : 1 })),
    pins: { note: pins.map((_, i) => `n${i}`), tooth: pins.map((p) => p[1]), deg: pins.map((p) => p[0]), octaves: pins.map((p) => p[2] ?? 0), shiftMs: pins.map((p) => p[3] ?? 0), locked: [], bar: [], beat: [] },
    left: [], findings: [], bars: [], ...more,
  };
}

/** Numbers that look drawn by chance and are the same each time. @param {number} seed */
function* chance(seed) {
  for (let x = seed; ; x = (x * 1103515245 + 12345) % 2147483648) yield x / 2147483648;
}

const many = (/** @type {number} */ n, seed = 7) => {
  const next = chance(seed);
  return Array.from({ length: n }, () => [360 * next.next().value, 1 + Math.floor(4 * next.next().value)]).sort((a, b) => a[0] - b[0]);
};

test("the whole turn is in sight, and nothing of it outside the window", () => {
  for (const [w, h] of [[1000, 400], [320, 600], [1200, 90]]) {
    const s = surface.surfaceOf(sceneOf([[0, 1], [359, 4]]));
    const v = surface.whole(s, w, h);
    assert.ok(v.scale * s.around <= w + 1e-6 && v.scale * s.height <= h + 1e-6);
    for (let i = 0; i < 2; i++) assert.ok((s.arc[i] - v.left) * v.scale >= 0 && (s.arc[i] - v.left) * v.scale <= w);
  }
});

test("the first view is the whole turn, or fills the height from the datum line on", () => {
  const s = surface.surfaceOf(sceneOf([[0, 1], [359, 4]]));
  const wide = surface.opening(s, 1000, (1000 / (s.around + s.beyond)) * s.height + 8);
  assert.equal(wide.scale, surface.whole(s, wide.width, wide.height).scale);
  const high = surface.opening(s, 250, 4 * (250 / (s.around + s.beyond)) * s.height);
  assert.ok(Math.abs(high.scale * s.height - high.height) < 1e-9 && high.left === 0);
});

test("what is under a point stays under it while the view comes nearer, until an edge stops it", () => {
  const s = surface.surfaceOf(sceneOf(many(50)));
  let v = surface.nearer(s, surface.whole(s, 1000, 400), 8, 500, 200);
  const next = chance(3);
  for (let k = 0; k < 200; k++) {
    const x = 300 + 400 * next.next().value, y = 100 + 200 * next.next().value, factor = 0.8 + 0.6 * next.next().value;
    const there = [v.left + x / v.scale, v.top + y / v.scale];
    const w = surface.nearer(s, v, factor, x, y);
    const free = w.left > -s.beyond + 1e-6 && w.left < s.around + s.beyond - w.width / w.scale - 1e-6 && w.top > 1e-6 && w.top < s.height - w.height / w.scale - 1e-6;
    if (free && w.width / w.scale < s.around) {
      assert.ok(Math.abs(w.left + x / w.scale - there[0]) < 1e-9 && Math.abs(w.top + y / w.scale - there[1]) < 1e-9);
    }
    v = w;
  }
});

test("a view is never nearer than one pin nor off the surface", () => {
  const s = surface.surfaceOf(sceneOf(many(20)));
  let v = surface.whole(s, 800, 300);
  const next = chance(11);
  for (let k = 0; k < 300; k++) {
    v = surface.moved(s, surface.nearer(s, v, 0.3 + 3 * next.next().value, 800 * next.next().value, 300 * next.next().value), 900 * (next.next().value - 0.5), 900 * (next.next().value - 0.5));
    const wide = v.width / v.scale;
    assert.ok(v.scale <= surface.closest);
    if (wide < s.around + s.beyond) assert.ok(v.left >= -s.beyond - 1e-9 && v.left + wide <= s.around + s.beyond + 1e-9);
    assert.ok(v.top >= Math.min(0, (s.height - v.height / v.scale) / 2) - 1e-9);
  }
});

test("what is in sight is what looking at each pin finds, wakes and copies beyond the seam among it", () => {
  const s = surface.surfaceOf(sceneOf(many(300)));
  const next = chance(5);
  for (let k = 0; k < 100; k++) {
    const v = surface.moved(s, surface.nearer(s, surface.whole(s, 900, 300), 1 + 40 * next.next().value, 450, 150), 9000 * (next.next().value - 0.5), 0);
    const seen = new Set(surface.inSight(s, v, 0.2, true).flatMap(({ from, to, shift }) => Array.from({ length: to - from }, (_, i) => `${from + i} ${shift}`)));
    const right = v.left + v.width / v.scale;
    for (const shift of [-s.around, 0, s.around]) {
      for (let i = 0; i < s.arc.length; i++) {
        const at = s.arc[i] + shift;
        if (at <= right && at + s.wake[i] >= v.left) assert.ok(seen.has(`${i} ${shift}`), `pin ${i} at ${at}`);
      }
    }
  }
});

test("a hand meets the pin that it points at", () => {
  const s = surface.surfaceOf(sceneOf(many(40)));
  const v = surface.whole(s, 1000, 500);
  for (let i = 0; i < s.arc.length; i++) {
    const got = surface.under(s, v, (s.arc[i] - v.left) * v.scale, (s.down[i] - v.top) * v.scale, 9);
    assert.ok(Math.hypot(s.arc[got.pin] - s.arc[i], s.down[got.pin] - s.down[i]) < 1e-9);
    assert.equal(got.tooth, s.scene.pins.tooth[i]);
  }
  assert.equal(surface.under(s, v, -200, -200, 9).pin, -1);
});

test("steps go round the turn and come back", () => {
  const s = surface.surfaceOf(sceneOf(many(30)));
  let pin = surface.step(s, -1, "later");
  for (let k = 0; k < 30; k++) pin = surface.step(s, pin, "later");
  assert.equal(pin, 0);
  assert.equal(surface.step(s, surface.step(s, 12, "later"), "earlier"), 12);
  for (const way of /** @type {const} */ (["up", "down"])) {
    const to = surface.step(s, 12, way);
    if (to !== 12) assert.equal(s.down[to] < s.down[12], way === "up");
  }
  assert.equal(surface.step(surface.surfaceOf(sceneOf([])), -1, "later"), -1);
});

test("a pin is moved no further than the tolerance, and stands too near where the tooth has not recovered", () => {
  // 16 000 ms on 40 mm: 0.01 mm is 4 ms. Pins of tooth 1 at 0 and 190 ms; the tooth needs 200 ms.
  const s = surface.surfaceOf(sceneOf([[0, 1], [(190 / 16000) * 360, 1], [100, 2]]));
  for (const [by, ms, near] of [[0, 0, 0], [0.02, 8, 0], [0.025, 10, -1], [0.05, 20, -1], [1, 25, -1], [-1, -25, 0]]) {
    const got = surface.shifted(s, 1, by, 1);
    assert.ok(Math.abs(got.ms - ms) < 1e-9 && got.tooNear === near, `${by} mm: ${JSON.stringify(got)}`);
  }
  const again = surface.surfaceOf(sceneOf([[0, 1, 0, 20], [180, 1]]));
  assert.equal(surface.shifted(again, 0, 1, 1).ms, 25);
});

test("a note goes to twins and octaves of its written pitch only", () => {
  const s = surface.surfaceOf(sceneOf([[0, 1], [10, 2], [20, 3, 1]]));
  assert.deepEqual(surface.canGoTo(s, 0), [1, 3, 4]);
  assert.deepEqual(surface.canGoTo(s, 1), [2]);
  assert.deepEqual(surface.canGoTo(s, 2), [1, 3, 4]);
});

test("marks on a scale stand at round figures", () => {
  for (const [least, want] of [[0.013, 0.02], [1, 1], [3, 5], [30, 50], [0.5, 0.5], [700, 1000]]) assert.ok(Math.abs(surface.markEvery(least) - want) < 1e-9, String(least));
});

test("from afar each pin is a point where it stands, its wake a tone behind it, and once more beyond the seam, fainter", () => {
  const inks = { wake: [1, 2, 3], pin: [4, 5, 6], clash: [7, 8, 9] };
  const s = surface.surfaceOf(sceneOf([[0, 1], [90, 2], [180, 3], [350, 4]], { findings: [{ blocks: true, notes: ["n2"] }] }));
  const v = surface.whole(s, 2 * (s.around + s.beyond), 40);
  for (const ratio of [1, 2]) {
    const { pixels, wide, high } = surface.fromAfar(s, v, ratio, 1, inks);
    assert.equal(pixels.length, 4 * wide * high);
    const at = (/** @type {number} */ arc, /** @type {number} */ down) => {
      const k = 4 * (Math.round((down - v.top) * v.scale * ratio) * wide + Math.round((arc - v.left) * v.scale * ratio));
      return [...pixels.slice(k, k + 4)];
    };
    const behind = 0.4; // of the wake; its first part lies under the pin
    s.arc.forEach((arc, i) => {
      assert.deepEqual(at(arc, s.down[i]), [...(i === 2 ? inks.clash : inks.pin), 255], `pin ${i}`);
      if (s.wake[i] * v.scale < 3) return;
      const wake = at(arc + behind * s.wake[i], s.down[i]);
      assert.ok(wake[3] > 60 && wake[3] < 110, `wake ${i}: ${wake}`);
    });
    assert.deepEqual(at(s.around, s.down[0]), [...inks.pin, 115], "the first pin once more");
    assert.equal(at(10, s.down[0] + 1)[3], 0, "bare brass");
  }
});

test("from afar nothing is painted beside the window, wherever it lies", () => {
  const s = surface.surfaceOf(sceneOf(many(300)));
  const next = chance(5);
  let v = surface.whole(s, 300, 90);
  for (let k = 0; k < 60; k++) {
    v = surface.moved(s, surface.nearer(s, v, 0.5 + next.next().value, 150, 45), 300 * (next.next().value - 0.5), 90 * (next.next().value - 0.5));
    const { pixels, wide } = surface.fromAfar(s, v, 1, 1, { wake: [1, 2, 3], pin: [4, 5, 6], clash: [7, 8, 9] });
    const pinned = new Set();
    for (let at = 0; at < pixels.length; at += 4) if (pixels[at + 3] === 255) pinned.add(at / 4);
    for (const at of pinned) {
      const arc = v.left + ((at % wide) + 0.5) / v.scale, down = v.top + (Math.floor(at / wide) + 0.5) / v.scale;
      assert.ok(surface.under(s, v, (arc - v.left) * v.scale, (down - v.top) * v.scale, 3).pin >= 0, "a point without a pin");
    }
  }
});

test("what is drawn ahead of the answer is what the decision asks for", () => {
  const s = surface.surfaceOf(sceneOf([[10, 1, 0, 5], [359.9, 2], [90, 3]], { left: [{ note: "x", deg: 45, track: 2 }, { note: "y", deg: 45, track: 1.5 }] }));
  const { around } = s;
  /** @type {[string, object, [number[], [number, number][]] | null][]} gone, and arc and tooth of what comes */
  const rows = [
    ["left out", { kind: "leave-out", note: "n2" }, [[2], []]],
    ["to a twin", { kind: "place", note: "n2", tooth: 4 }, [[2], [[90, 4]]]],
    ["later", { kind: "shift", note: "n0", ms: 20 }, [[0], [[10 + (15 / 16000) * 360, 1]]]],
    ["later, across the seam", { kind: "shift", note: "n1", ms: 25 }, [[1], [[359.9 + (25 / 16000) * 360 - 360, 2]]]],
    ["taken back in", { kind: "release", note: "x" }, [[], [[45, 2]]]],
    ["held where it is", { kind: "place", note: "n2", tooth: 3 }, null],
    ["a shift that it has", { kind: "shift", note: "n0", ms: 5 }, null],
    ["a tooth that is not there", { kind: "place", note: "n2", tooth: 9 }, null],
    ["left out, on no track", { kind: "release", note: "y" }, null],
    ["of no note", { kind: "change", setup: {} }, null],
  ];
  for (const [name, decision, want] of rows) {
    const got = surface.foreseen(s, decision);
    assert.equal(got === null, want === null, name);
    if (!got || !want) continue;
    assert.deepEqual([...got.gone], want[0], name);
    assert.equal(got.come.length, want[1].length, name);
    got.come.forEach(({ arc, down }, i) => {
      assert.ok(Math.abs(arc - (want[1][i][0] / 360) * around) < 1e-9, name);
      assert.equal(down, s.tracks[want[1][i][1]], name);
    });
  }
});

test("how scenes differ is told by pins that go and pins that come, and there and back is the same the other way round", () => {
  const one = surface.surfaceOf(sceneOf([[10, 1], [50, 2], [90, 3]]));
  const other = surface.surfaceOf(sceneOf([[10, 1], [51, 2], [90, 4]]));
  const there = surface.changes(one, other), back = surface.changes(other, one);
  assert.deepEqual([...there.gone], [1, 2]);
  assert.deepEqual(there.come.map((c) => [c.arc, c.down]), [1, 2].map((i) => [other.arc[i], other.down[i]]));
  assert.deepEqual(back.come.map((c) => [c.arc, c.down]), [...there.gone].map((i) => [one.arc[i], one.down[i]]));
  const none = surface.changes(one, one);
  assert.equal(none.gone.size + none.come.length, 0);
});
