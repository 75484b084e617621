import assert from "node:assert/strict";
import { test } from "node:test";
import { HOLD, PLUCK, TOUCH, alone, arranged, between, columns, partials, sameTeeth, turn, voice, written } from "../voice.js";
import { frequencyOf } from "../pitch.js";

const RATE = 48000;

/**
 * A scene of which only what is heard is stated: three teeth, two of them twins.
 * @param {object} [changes]
 * @returns {any}
 */
const sceneWith = (changes = {}) => ({
  turnMs: 12000, gapDeg: 18, contactDeg: 3, quality: 900,
  teeth: [{ note: "C5", pitch: 72, hz: 523.2511, dampMs: 28.667, twin: 1 }, { note: "C5", pitch: 72, hz: 523.2511, dampMs: 28.667, twin: 2 }, { note: "E5", pitch: 76, hz: 659.2551, dampMs: 22.753, twin: 1 }],
  pins: { note: ["a", "b", "c"], tooth: [1, 3, 1], deg: [9, 99, 189] },
  left: [{ note: "d", name: "F5", pitch: 77, deg: 200 }],
  written: { note: ["a", "b", "c", "d", "e"], atMs: [0, 3000, 6000, 6366, 11700], pitch: [72, 64, 72, 77, 72] },
  ...changes,
});

/** @param {number} got @param {number} want @param {number} tolerance @param {string} [what] */
const near = (got, want, tolerance, what = "") => assert.ok(Math.abs(got - want) <= tolerance, `${what} ${got}, want ${want} within ${tolerance}`);

test("a bar clamped at one end has the partials of the textbooks", () => {
  // Rayleigh, The Theory of Sound, § 174, from memory: 1 : 6.267 : 17.55; 0.01 per cent for the roots' four places.
  const { hz } = partials(200, 900, RATE);
  near(hz[1] / hz[0], 6.267, 0.001);
  near(hz[2] / hz[0], 17.547, 0.002);
});

test("levels are those of a pluck at the tip, and all teeth are as loud", () => {
  // 1 : 0.16 : 0.057, to the places given.
  for (const f of [131, 523.25, 2093, 4186, 9000]) {
    const { hz, level, fallS } = partials(f, 900, RATE);
    near(level.reduce((sum, a) => sum + a * a, 0), 1, 1e-12, `${f} Hz`);
    if (level.length > 1) near(level[1] / level[0], 0.16, 0.0005);
    if (level.length > 2) near(level[2] / level[0], 0.057, 0.0005);
    hz.forEach((partial, n) => near(fallS[n] * Math.PI * partial, 900, 1e-9));
  }
});

for (const [name, hz, rate, count] of [["low", 500, 48000, 3], ["the third lies too high", 2000, 48000, 2], ["the second too", 4186, 48000, 1], ["a slow sound", 523, 16000, 2]]) {
  test(`partials above 0.45 of the sample rate are left out: ${name}`, () => assert.equal(partials(Number(hz), 900, Number(rate)).hz.length, count));
}

test("pitches have the frequencies of ISO 16", () => {
  near(frequencyOf(69), 440, 0);
  near(frequencyOf(60), 261.6256, 0.0001);
});

test("a pluck falls where its pin lets go", () => {
  const score = arranged(sceneWith(), null);
  assert.deepEqual(score.plucks.map((p) => [Math.round(p.atMs * 1e6) / 1e6, p.tooth]), [[300, 0], [3300, 2], [6300, 0]]);
  assert.equal(score.contactMs, 100);
});

test("the damper has done its work when the next pin meets the tooth, also across the seam", () => {
  const cues = turn(arranged(sceneWith(), null), 1);
  const of = (/** @type {number} */ tooth, /** @type {number} */ what) => cues.filter((c) => c.tooth === tooth && c.what === what).map((c) => c.atMs);
  assert.deepEqual(of(0, PLUCK), [300, 6300]);
  assert.deepEqual(of(0, HOLD), [200, 6200]);
  [200 - 28.667, 6200 - 28.667].forEach((want, i) => near(of(0, TOUCH)[i], want, 1e-9));
  assert.deepEqual(of(2, HOLD), [3200], "one pin meets its own tooth again after a turn");
  assert.deepEqual(of(1, PLUCK), [], "a tooth without pins is silent");
});

test("slower turning takes contact with it; a tooth is damped in its own time", () => {
  for (const speed of [1 / 8, 1 / 2, 2]) {
    const cues = turn(arranged(sceneWith(), null), speed).filter((c) => c.tooth === 0);
    const hold = cues.find((c) => c.what === HOLD && c.atMs > 6000)?.atMs ?? NaN;
    const touch = cues.find((c) => c.what === TOUCH && c.atMs > 5000)?.atMs ?? NaN;
    near(hold, 6200, 1e-9);
    near((hold - touch) / speed, 28.667, 1e-9, `at ${speed}`);
  }
});

test("a tooth that comes again too soon is damped from its pluck on, and held no earlier", () => {
  for (const [second, what] of [[12, "damping"], [9.5, "contact"]]) {
    const cues = turn(arranged(sceneWith({ pins: { note: ["a", "b"], tooth: [1, 1], deg: [9, Number(second)] } }), null), 1);
    const first = cues.findIndex((c) => c.what === PLUCK && c.atMs === 300);
    const rest = cues.slice(first).filter((c) => c.seed === 1);
    assert.deepEqual(rest.map((c) => c.what), [PLUCK, TOUCH, HOLD], String(what));
    assert.ok(rest.every((c) => c.atMs >= 300));
    assert.equal(rest[1].atMs, 300);
  }
});

test("as written each note has a tooth of its own pitch, and no pin holds it", () => {
  const score = written(sceneWith(), null);
  assert.deepEqual(score.teeth.map((t) => Math.round(t.hz)), [330, 523, 698]);
  assert.deepEqual(score.plucks.map((p) => [p.atMs, p.tooth]), [[300, 1], [3300, 0], [6300, 1], [6666, 2]], "the turn does not reach the last");
  assert.ok(turn(score, 1).every((c) => c.what !== HOLD));
  near(score.teeth[0].dampMs * score.teeth[0].hz, 15000, 1, "damped as long as a tooth of the comb");
});

test("only chosen teeth are heard, and as written the notes of their pins", () => {
  assert.deepEqual(arranged(sceneWith(), new Set([3])).plucks.map((p) => p.tooth), [2]);
  assert.deepEqual(written(sceneWith(), new Set([3])).plucks.map((p) => p.atMs), [3300]);
});

test("a note by itself is heard on its tooth; one that was left out as written", () => {
  near(alone(sceneWith(), "b")?.hz ?? 0, 659.2551, 0);
  near(alone(sceneWith(), "d")?.hz ?? 0, 698.4565, 0.0001);
  assert.equal(alone(sceneWith(), "none"), null);
});

test("chosen teeth are found again on another comb", () => {
  const after = sceneWith({ teeth: [{ pitch: 60, twin: 1 }, ...sceneWith().teeth.slice(0, 2)] });
  assert.deepEqual(sameTeeth(sceneWith(), after, new Set([2, 3])), new Set([3]));
  assert.equal(sameTeeth(sceneWith(), after, new Set([3])), null);
});

// A small generator, so that each run tries the same.
const chance = (/** @type {number} */ seed) => () => (seed = (seed * 1103515245 + 12345) % 2 ** 31) / 2 ** 31;

test("windows that follow each other give every pluck of every turn once, in order", () => {
  const random = chance(1);
  for (let run = 0; run < 50; run++) {
    const count = 1 + Math.floor(random() * 40);
    const deg = Array.from({ length: count }, () => Math.floor(random() * 360000) / 1000);
    const scene = sceneWith({ pins: { note: deg.map(String), tooth: deg.map(() => 1 + Math.floor(random() * 3)), deg } });
    const cues = turn(arranged(scene, null), [1 / 8, 1, 2][run % 3]);
    assert.equal(cues.filter((c) => c.what === PLUCK).length, count);
    assert.ok(cues.every((c) => c.atMs >= 0 && c.atMs < scene.turnMs));
    const found = [];
    for (let from = 5000; from < 41000; ) {
      const to = Math.min(41000, from + random() * 7000 + 1);
      found.push(...between(cues, scene.turnMs, from, to));
      from = to;
    }
    assert.equal(found.length, 3 * cues.length);
    assert.ok(found.every((c, i) => i === 0 || c.atMs >= found[i - 1].atMs));
  }
});

test("nothing plays of nothing", () => {
  const none = sceneWith({ teeth: [], pins: { note: [], tooth: [], deg: [] }, written: { note: [], atMs: [], pitch: [] } });
  for (const score of [arranged(none, null), written(none, null)]) assert.deepEqual(between(turn(score, 1), 12000, 0, 1e6), []);
});

/** The processor, as a browser's audio thread runs it. */
const scope = /** @type {any} */ (globalThis);
scope.sampleRate = RATE;
const { Ring } = await import("../ring.js");

/** @param {any[]} messages @param {number} length  frames */
const render = (messages, length) => {
  const ring = new Ring({ processorOptions: { messages } });
  const sound = new Float32Array(Math.ceil(length / 128) * 128);
  for (scope.currentFrame = 0; scope.currentFrame < sound.length; scope.currentFrame += 128) {
    ring.process([], [[sound.subarray(scope.currentFrame, scope.currentFrame + 128)]]);
  }
  return sound;
};

/** @param {import("../voice.js").Score} score @param {number} [speed] */
const told = (score, speed = 1) => [
  { kind: "comb", teeth: score.teeth.map((t) => voice(t, score.quality, RATE)) },
  { kind: "cues", ...columns(between(turn(score, speed), score.turnMs, 0, score.turnMs), (atMs) => (atMs * RATE) / 1000 / speed) },
];

/** @param {Float32Array} sound @param {number} from @param {number} to */
const rms = (sound, from, to) => Math.sqrt(sound.subarray(from, to).reduce((sum, x) => sum + x * x, 0) / (to - from));

test("a tooth starts at the very sample of its pin", () => {
  const sound = render(told(arranged(sceneWith(), new Set([3]))), 4 * RATE);
  const first = 3.3 * RATE;
  assert.equal(rms(sound, first - RATE / 100, first), 0);
  assert.notEqual(sound[first], 0); // the noise of the release; the tooth itself starts from rest
});

test("a tooth rings at its frequency and falls as its quality says", () => {
  const hz = 523.2511;
  const made = { hz: [hz], level: [1], fallS: [900 / Math.PI / hz], dampS: 0.03 };
  const sound = render([{ kind: "alone", frame: 0, voice: made, seed: 1 }], RATE);
  for (let i = 400; i < RATE; i += 97) near(sound[i], 0.2 * Math.exp((-i / RATE) / made.fallS[0]) * Math.sin((2 * Math.PI * hz * i) / RATE), 2e-6, `sample ${i}`);
});

test("the damper takes 60 dB in its time, and the pin holds the tooth still", () => {
  const score = arranged(sceneWith({ pins: { note: ["a", "b"], tooth: [1, 1], deg: [9, 39] } }), null);
  const sound = render(told(score), 2 * RATE);
  const at = (/** @type {number} */ ms) => Math.round((ms * RATE) / 1000);
  const before = rms(sound, at(1171.333 - 10), at(1171.333));
  const after = rms(sound, at(1198), at(1200));
  assert.ok(before > 1e-5);
  near(20 * Math.log10(after / before), -60, 4); // means over several periods on a slope of 2 dB a ms
  assert.ok(rms(sound, at(1205), at(1299)) < 1e-7);
});

test("a tooth that still rings starts anew", () => {
  const comb = { kind: "comb", teeth: [voice({ hz: 523.2511, dampMs: 30 }, 900, RATE)] };
  const plucks = (/** @type {number[]} */ ...frame) => ({ kind: "cues", frame, what: frame.map(() => PLUCK), tooth: frame.map(() => 0), seed: frame.map(() => 5) });
  const once = render([comb, plucks(0)], 9600);
  const twice = render([comb, plucks(0, 4800)], 14400);
  for (let i = 0; i < 9600; i += 31) near(twice[4800 + i], once[i], 1e-6);
});

test("another comb stills the teeth that it does not have, and only those", () => {
  const [c, e] = [523.2511, 659.2551].map((hz) => voice({ hz, dampMs: 30 }, 900, RATE));
  const cues = { kind: "cues", frame: [0, 0], what: [PLUCK, PLUCK], tooth: [0, 1], seed: [1, 2] };
  const stillRing = (/** @type {any[]} */ teeth) => {
    scope.currentFrame = 0;
    const ring = new Ring({ processorOptions: { messages: [{ kind: "comb", teeth: [c, e] }, cues] } });
    const block = new Float32Array(128);
    ring.process([], [[block]]);
    ring.take({ kind: "comb", teeth });
    for (let n = 0; n < 150; n++) ring.process([], [[block]]); // twice the time in which a tooth is stilled
    return ring.comb.concat(ring.others).filter((t) => t.rings).map((t) => t.hz);
  };
  assert.deepEqual(stillRing([c, e]), [c.hz[0], e.hz[0]]);
  assert.deepEqual(stillRing([e, e]), [e.hz[0]]);
  assert.deepEqual(stillRing([]), []);
});

test("the same cues sound the same, whatever the others do in between", () => {
  const messages = told(arranged(sceneWith(), null));
  assert.deepEqual(render(messages, RATE), render(messages, RATE));
});

test("144 teeth at once stay below full scale, and leave time", () => {
  const teeth = Array.from({ length: 144 }, (_, i) => ({ note: "", pitch: i, hz: 130.8 * 2 ** (i / 36), dampMs: 20, twin: 1 }));
  const deg = Array.from({ length: 144 * 20 }, (_, i) => ((Math.floor(i / 144) * 18) % 360) + 0.001);
  const scene = sceneWith({ teeth, pins: { note: deg.map(String), tooth: deg.map((_, i) => (i % 144) + 1), deg } });
  const began = performance.now();
  const sound = render(told(arranged(scene, null)), 12 * RATE);
  const share = (performance.now() - began) / 12000;
  const most = sound.reduce((peak, x) => Math.max(peak, Math.abs(x)), 0);
  assert.ok(most > 0.8 && most < 1, `the peak is ${most}`);
  assert.ok(share < 0.5, `it takes ${(100 * share).toFixed(1)} per cent of the time that it sounds`);
});
