import assert from "node:assert/strict";
import { test } from "node:test";
import { arborDeg, arborNames, between, contacts, damperDeg, firstFrom, happening, motionOf, roundCircle, slownessOf, stateInWords, toothAt } from "../motion.js";

/**
 * A scene of what moves: the compact movement of 18 teeth, one turn in 60 000/4.125 ms.
 * @param {[number, number][]} pins  tooth and angle
 * @param {Partial<import("../scene.js").Scene>} [over]
 */
function sceneOf(pins, over = {}) {
  const hz = [523.2511, 587.3295, 659.2551];
  return /** @type {import("../scene.js").Scene} */ (/** @type {unknown} */ ({
    quality: 900, turnMs: 60_000 / 4.125, diameterMm: 13, projectionMm: 0.9, liftMm: 0.45, rpm: [1.5, 4.125, 23.71875, 149.428125, 3586.275], cylinderArbor: 1,
    teeth: hz.map((f, i) => ({ note: `n${i}`, pitch: 72 + i, hz: f, dampMs: 15_000 / f, repeatMs: 0, twin: 1 })),
    pins: { tooth: pins.map((p) => p[0]), deg: pins.map((p) => p[1]) }, ...over,
  }));
}

/** A small generator of cases, so that a law fails the same way each time. @param {number} seed */
function chance(seed) {
  return () => {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    return seed / 2 ** 32;
  };
}

const near = (/** @type {number} */ got, /** @type {number} */ want, /** @type {number} */ by, /** @type {string} */ what = "") =>
  assert.ok(Math.abs(got - want) <= by, `${what} ${got}, want ${want}`);

// asin(0.45/7.4) = 3.48635°, by a table of sines; tolerance 1e-5. 140.863 ms of 14 545.45 is the reference's figure.
test("the contact angle is asin(lift over tip radius)", () => {
  const m = motionOf(sceneOf([[1, 90]]));
  near(m.contactDeg, 3.48635, 1e-5);
  near((m.contactDeg / 360) * m.scene.turnMs, 140.863, 1e-3);
});

for (const [name, deg, doing, lift] of /** @type {[string, number, string, number][]} */ ([
  ["long before its pin", 0, "still", 0],
  ["at the damper", 90 - 3.48635 - 0.3, "damping", 0],
  ["at contact", 90 - 3.48635, "lifted", 0],
  ["half way through the contact", 90 - 3.48635 / 2, "lifted", 7.4 * Math.sin((3.48635 / 2) * (Math.PI / 180))],
  ["at the release", 90, "lifted", 0.45],
  ["just after", 90.001, "ringing", 0],
  ["a whole turn on, at the release", 450, "lifted", 0.45],
  ["a turn back, at the release", -270, "lifted", 0.45],
])) {
  test(`a tooth ${name} is ${doing}`, () => {
    const state = toothAt(motionOf(sceneOf([[1, 90]])), 1, deg);
    assert.equal(state.doing, doing);
    near(state.liftMm, lift, 1e-6);
  });
}

test("a tooth without a pin rests, and says so", () => {
  const state = toothAt(motionOf(sceneOf([[1, 90]])), 2, 90);
  assert.equal(state.doing, "still");
  assert.equal(stateInWords(state), "has no pin");
});

test("lift is 0 at contact, the whole lift at the release and grows between, round the circle", () => {
  const random = chance(1);
  for (let i = 0; i < 200; i++) {
    const diameterMm = 3 + 397 * random();
    const m = motionOf(sceneOf([[1, 360 * random()]], { diameterMm, projectionMm: 0.3 + random(), liftMm: 0.1 + random() }));
    const release = m.tracks[0].deg[0];
    near(toothAt(m, 1, release - m.contactDeg).liftMm, 0, 1e-6);
    near(toothAt(m, 1, release).liftMm, m.scene.liftMm, 1e-9);
    let last = -1;
    for (let part = 0; part <= 20; part++) {
      const { liftMm, doing } = toothAt(m, 1, release - m.contactDeg * (1 - part / 20) + 360 * Math.floor(3 * random()));
      assert.equal(doing, "lifted");
      assert.ok(liftMm > last, `${liftMm} after ${last}`);
      last = liftMm;
    }
  }
});

test("a free tooth falls to 1/e in Q/(π·f)", () => {
  const m = motionOf(sceneOf([[1, 90]]));
  const ms = (900 / Math.PI / 523.2511) * 1000; // Q 900: common practice, no published source
  near(toothAt(m, 1, 90 + (ms / m.scene.turnMs) * 360).swingMm, 0.45 / Math.E, 1e-6);
});

test("the damper takes a vibration down by 60 dB until the contact", () => {
  const m = motionOf(sceneOf([[1, 90], [1, 100]]));
  const touched = 100 - m.contactDeg - damperDeg(m.scene, 1);
  const before = toothAt(m, 1, touched - 1e-6);
  const after = toothAt(m, 1, touched + damperDeg(m.scene, 1) / 2);
  assert.equal(before.doing, "ringing");
  assert.equal(after.doing, "damping");
  const free = Math.exp((-Math.PI * 523.2511 * (after.sinceMs - before.sinceMs)) / 1000 / 900);
  near(after.swingMm / before.swingMm / free, Math.sqrt(1e-3), 1e-4);
  assert.ok(toothAt(m, 1, 100 - m.contactDeg - 1e-5).swingMm <= 0.45e-3);
});

test("the tip vibrates within its swing, and never swings wider", () => {
  const m = motionOf(sceneOf([[1, 10], [1, 200]]));
  let last = Infinity;
  for (let deg = 10.01; deg < 195; deg += 0.01) {
    const { swingMm, tipMm, liftMm } = toothAt(m, 1, deg);
    assert.ok(swingMm <= last && Math.abs(tipMm) <= swingMm && liftMm === 0, String(deg));
    last = swingMm;
  }
  near(toothAt(m, 1, 10 + (360 * (1000 / 523.2511)) / m.scene.turnMs).tipMm, 0.45 * Math.exp(-Math.PI / 900), 1e-4, "after one cycle");
});

test("no tooth has two pins in contact where all are far enough apart", () => {
  const random = chance(2);
  for (let i = 0; i < 50; i++) {
    /** @type {[number, number][]} */
    const pins = [];
    for (const tooth of [1, 2, 3]) {
      const first = 5 * random();
      for (let deg = first; deg < first + 360 - 3.5; deg += 3.5 + 20 * random()) if (first + 360 - deg > 3.5) pins.push([tooth, roundCircle(deg)]);
    }
    pins.sort((a, b) => a[1] - b[1]);
    const m = motionOf(sceneOf(pins));
    for (let deg = 0; deg < 360; deg += 0.37) {
      const held = contacts(m, deg);
      const teeth = held.map((pin) => m.scene.pins.tooth[pin]);
      assert.equal(new Set(teeth).size, teeth.length, String(deg));
      for (const tooth of [1, 2, 3]) assert.equal(toothAt(m, tooth, deg).doing === "lifted", teeth.includes(tooth), String(deg));
    }
  }
});

test("where two pins clash both hold the tooth, and the higher one counts", () => {
  const m = motionOf(sceneOf([[1, 359.5], [1, 0.5]]));
  assert.deepEqual(contacts(m, 359).sort(), [0, 1]);
  near(toothAt(m, 1, 359.5).liftMm, 0.45, 1e-9);
  const { liftMm, pin } = toothAt(m, 1, 359.6);
  assert.equal(pin, 1);
  near(liftMm, 7.4 * Math.sin(((m.contactDeg - 0.9) * Math.PI) / 180), 1e-9);
});

test("stepping visits each contact and each release once a turn, and back the same way", () => {
  const random = chance(3);
  for (let i = 0; i < 60; i++) {
    const pins = Array.from({ length: 1 + Math.floor(8 * random()) }, (_, k) => /** @type {[number, number]} */ ([1, roundCircle(350 + 40 * k + 20 * random())]));
    pins.sort((a, b) => a[1] - b[1]);
    const m = motionOf(sceneOf(pins));
    let at = 360 * random();
    const start = happening(m, 1, at, 1);
    assert.ok(start);
    at += start.turn;
    const seen = [`${start.kind} ${start.pin}`];
    const first = at;
    for (let step = 1; step < 2 * pins.length; step++) {
      const next = happening(m, 1, at, 1);
      assert.ok(next && next.turn > 0);
      near(roundCircle(at + next.turn - next.deg + 180), 180, 1e-6);
      const back = happening(m, 1, at + next.turn, -1);
      assert.ok(back);
      near(back.turn, -next.turn, 1e-6);
      at += next.turn;
      near(toothAt(m, 1, at).liftMm, next.kind === "release" ? 0.45 : 0, 1e-6);
      seen.push(`${next.kind} ${next.pin}`);
    }
    assert.equal(new Set(seen).size, 2 * pins.length);
    const again = happening(m, 1, at, 1);
    near(at + (again?.turn ?? NaN) - first, 360, 1e-6);
  }
  assert.equal(happening(motionOf(sceneOf([])), 1, 0, 1), null);
});

test("what lies between two angles is found round the circle, as by looking at each", () => {
  const random = chance(4);
  for (let i = 0; i < 300; i++) {
    const list = Float64Array.from({ length: Math.floor(30 * random()) }, () => 360 * random()).sort();
    const from = 1000 * random() - 500;
    const to = from + 500 * random();
    const got = between(list, from, to).flatMap((run) => [...list.slice(run.from, run.to)].map((deg) => deg + run.add));
    const want = [-720, -360, 0, 360, 720, 1080].flatMap((add) => [...list].map((deg) => deg + add)).filter((deg) => deg >= from && deg <= to);
    assert.deepEqual(got, want);
  }
  assert.equal(firstFrom([1, 2, 2, 3], 2), 1);
});

// 1.5 rev/min, 4.125, … 3586.275: the drive's own table (pinmap/drive); one turn of the cylinder is 14 545.45 ms.
test("each arbor turns by its speed", () => {
  const { rpm, turnMs } = sceneOf([]);
  for (const [i, turns] of [1 / 2.75, 1, 5.75, 5.75 * 6.3, 869.4].entries()) near(arborDeg(rpm[i], turnMs) / 360, turns, 1e-9);
});

test("the arbors have names, wherever the cylinder sits", () => {
  assert.deepEqual(arborNames(sceneOf([])), ["Great wheel", "Cylinder", "Arbor 3", "Arbor 4", "Governor"]);
  assert.deepEqual(arborNames(sceneOf([], { rpm: [1, 2], cylinderArbor: 0 })), ["Great wheel, with the cylinder", "Governor"]);
});

test("the speed goes from the movement's own time to 250 times slowed, by equal ratios", () => {
  assert.deepEqual([0, 0.5, 1, -1, 2].map(slownessOf), [1, 16, 250, 1, 250]);
});
