/**
 * What the comb does while the cylinder turns: calculation alone. Angles are degrees; the angle of the cylinder is that of the pin which
 * lets go now. A tooth goes the same round each turn, so its state follows from the angle.
 *
 * @typedef {import("./scene.js").Scene} Scene
 * @typedef {{ deg: Float64Array, pin: Int32Array }} Track  pins of one tooth by angle, and which of the scene's they are
 * @typedef {{ scene: Scene, radiusMm: number, contactDeg: number, tracks: Track[] }} Motion
 * @typedef {"lifted" | "damping" | "ringing" | "still"} Doing
 * @typedef {{ doing: Doing, liftMm: number, swingMm: number, tipMm: number, sinceMs: number, untilMs: number, pin: number }} ToothState
 *   liftMm by which a pin holds the tip up; swingMm to which the tip vibrates on either side; tipMm where it is; sinceMs from the last
 *   release on, untilMs the next one, Infinity where the tooth has no pin; pin the scene's that lifts it, -1 for none
 * @typedef {{ kind: "contact" | "release", pin: number, deg: number, turn: number }} Happening  turn is how far the cylinder turns to it, back < 0
 */

import { say } from "./say.js";

/** Angles nearer than this are the same; a tool sets a hundredth at best. */
const SAME_DEG = 1e-7;
/** A vibration quicker than this on the screen is drawn as the band that it fills. */
export const QUICK_HZ = 9;
/** A vibration that has fallen by 60 dB is over; so far the damper takes it in the tooth's dampMs. */
const SILENT = 1e-3;

/** @param {number} deg @returns {number} the same angle, 0 to 360 */
export function roundCircle(deg) {
  return ((deg % 360) + 360) % 360;
}

/**
 * Makes ready what is asked again and again of a scene.
 * @param {Scene} scene
 * @returns {Motion}
 */
export function motionOf(scene) {
  const { tooth, deg } = scene.pins;
  /** @type {number[][]} */
  const pins = scene.teeth.map(() => []);
  tooth.forEach((t, i) => pins[t - 1]?.push(i));
  const radiusMm = scene.diameterMm / 2 + scene.projectionMm;
  return {
    scene,
    radiusMm,
    contactDeg: (Math.asin(Math.min(1, scene.liftMm / radiusMm)) * 180) / Math.PI,
    tracks: pins.map((of) => {
      of.sort((a, b) => deg[a] - deg[b]);
      return { deg: Float64Array.from(of, (i) => deg[i]), pin: Int32Array.from(of) };
    }),
  };
}

/**
 * The first of an ascending list that is at least x.
 * @param {ArrayLike<number>} list
 * @param {number} x
 * @returns {number} its index; the list's length where there is none
 */
export function firstFrom(list, x) {
  let low = 0;
  let high = list.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (list[middle] < x) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * The next pin of a track, round the circle; one that lets go now is the next.
 * @param {Track} track
 * @param {number} deg  0 to 360
 * @returns {{ at: number, ahead: number }} its index in the track and how far off it is
 */
function nextPin(track, deg) {
  const at = firstFrom(track.deg, deg - SAME_DEG);
  if (at < track.deg.length) return { at, ahead: Math.max(0, track.deg[at] - deg) };
  return { at: 0, ahead: Math.max(0, track.deg[0] + 360 - deg) };
}

/**
 * What a tooth does. A pin meets the tip contactDeg before the release and carries it up R·sin(angle since then), to liftMm; let go, the
 * tip vibrates about its rest, in the damper's reach shortly before the next contact. Where two pins hold it the higher one, which is the
 * first to let go, counts.
 * @param {Motion} motion
 * @param {number} tooth  from 1
 * @param {number} turned  angle of the cylinder
 * @returns {ToothState}
 */
export function toothAt(motion, tooth, turned) {
  const { scene, tracks, radiusMm, contactDeg } = motion;
  const track = tracks[tooth - 1];
  const still = { doing: /** @type {Doing} */ ("still"), liftMm: 0, swingMm: 0, tipMm: 0, sinceMs: Infinity, untilMs: Infinity, pin: -1 };
  if (!track || track.deg.length === 0) return still;
  const { hz, dampMs } = scene.teeth[tooth - 1];
  const deg = roundCircle(turned);
  const ms = scene.turnMs / 360;
  const { at, ahead } = nextPin(track, deg);
  const n = track.deg.length;
  const before = track.deg[(at + n - 1) % n];
  const sinceMs = (n === 1 ? 360 - ahead : roundCircle(deg - before)) * ms;
  const untilMs = ahead * ms;
  if (ahead <= contactDeg + SAME_DEG) {
    const liftMm = Math.max(0, radiusMm * Math.sin(((contactDeg - ahead) * Math.PI) / 180));
    return { doing: "lifted", liftMm, swingMm: 0, tipMm: liftMm, sinceMs, untilMs, pin: track.pin[at] };
  }
  const damped = Math.min(sinceMs, dampMs - (ahead - contactDeg) * ms); // since the damper touched, below 0 where it does not
  let swing = Math.exp((-Math.PI * hz * sinceMs) / 1000 / scene.quality);
  if (damped > 0) swing *= SILENT ** (damped / dampMs);
  const swingMm = swing < SILENT ? 0 : scene.liftMm * swing;
  const tipMm = swingMm * Math.cos((2 * Math.PI * hz * sinceMs) / 1000);
  return { ...still, doing: damped >= 0 ? "damping" : swingMm > 0 ? "ringing" : "still", swingMm, tipMm, sinceMs, untilMs };
}

/**
 * How far before its contact a tooth's pin touches the damper.
 * @param {Scene} scene
 * @param {number} tooth
 * @returns {number} degrees
 */
export function damperDeg(scene, tooth) {
  return (scene.teeth[tooth - 1].dampMs / scene.turnMs) * 360;
}

/**
 * The pins that hold a tooth up.
 * @param {Motion} motion
 * @param {number} turned
 * @returns {number[]} which of the scene's, by angle
 */
export function contacts(motion, turned) {
  const { pins } = motion.scene;
  const deg = roundCircle(turned);
  return between(pins.deg, deg - SAME_DEG, deg + motion.contactDeg + SAME_DEG).flatMap(({ from, to }) => Array.from({ length: to - from }, (_, i) => from + i));
}

/**
 * What of an ascending list of angles lies from one angle to another, round the circle.
 * @param {ArrayLike<number>} list  0 to 360
 * @param {number} fromDeg
 * @param {number} toDeg  not below fromDeg
 * @returns {{ from: number, to: number, add: number }[]} runs of the list, to excluded; add makes their angles lie between the two
 */
export function between(list, fromDeg, toDeg) {
  const runs = [];
  for (let turn = Math.floor(fromDeg / 360) - 1; turn * 360 <= toDeg; turn++) {
    const from = firstFrom(list, fromDeg - turn * 360);
    let to = firstFrom(list, toDeg - turn * 360);
    while (to < list.length && list[to] === toDeg - turn * 360) to++;
    if (to > from) runs.push({ from, to, add: turn * 360 });
  }
  return runs;
}

/**
 * The next contact or release of a tooth after an angle, or the last before it.
 * @param {Motion} motion
 * @param {number} tooth
 * @param {number} turned
 * @param {1 | -1} way  1 the next, -1 the one before
 * @returns {Happening | null} null where the tooth has no pin
 */
export function happening(motion, tooth, turned, way) {
  const track = motion.tracks[tooth - 1];
  if (!track || track.deg.length === 0) return null;
  const n = track.deg.length;
  /** @param {"contact" | "release"} kind @returns {Happening} */
  const nearest = (kind) => {
    const lead = kind === "contact" ? motion.contactDeg : 0;
    const deg = roundCircle(turned + lead);
    const at = (way > 0 ? firstFrom(track.deg, deg + SAME_DEG) : firstFrom(track.deg, deg - SAME_DEG) + n - 1) % n;
    let turn = way * roundCircle(way * (track.deg[at] - deg));
    if (Math.abs(turn) < SAME_DEG) turn += way * 360;
    return { kind, pin: track.pin[at], deg: roundCircle(track.deg[at] - lead), turn };
  };
  const contact = nearest("contact");
  const release = nearest("release");
  return Math.abs(contact.turn) < Math.abs(release.turn) ? contact : release;
}

/**
 * How far an arbor turned in a time, at its full speed.
 * @param {number} rpm
 * @param {number} ms
 * @returns {number} degrees
 */
export function arborDeg(rpm, ms) {
  return (rpm * ms * 360) / 60_000;
}

/** What an arbor is called for its wheel. @param {Scene} scene @param {number} i @returns {string} */
export function arborName(scene, i) {
  if (i === 0) return say("Great wheel");
  if (i === scene.rpm.length - 1) return say("Governor");
  return i === scene.cylinderArbor ? say("Cylinder") : say("Arbor {1}", i + 1);
}

/** What the arbors are called, the great wheel's first. @param {Scene} scene @returns {string[]} */
export function arborNames(scene) {
  return scene.rpm.map((_, i) => {
    const name = arborName(scene, i);
    return i === scene.cylinderArbor && (i === 0 || i === scene.rpm.length - 1) ? say("{1}, with the cylinder", name) : name;
  });
}

/** The slowest that the view turns: so many times slower than the movement. */
export const SLOWEST = 250;

/** @param {number} part  0 to 1 @returns {number} how many times slowed: 1, the movement's own time, to SLOWEST */
export function slownessOf(part) {
  const slow = SLOWEST ** Math.min(1, Math.max(0, part));
  return slow < 10 ? Math.round(slow * 10) / 10 : Math.round(slow);
}

/** @param {number} slow @returns {string} */
export function slownessInWords(slow) {
  return slow === 1 ? say("in the movement's own time") : say("{1} times slowed", slow);
}

/** @param {Scene} scene @param {number} tooth @returns {string} the tooth by note and number, its twin told apart */
export function toothName(scene, tooth) {
  const { note, twin, pitch } = scene.teeth[tooth - 1];
  const twins = scene.teeth.filter((t) => t.pitch === pitch).length > 1;
  return twins ? say("{1}, twin {2}, tooth {3}", note, twin, tooth) : say("{1}, tooth {2}", note, tooth);
}

/** @param {ToothState} state @returns {string} */
export function stateInWords(state) {
  /** @param {number} ms */
  const soon = (ms) => (ms < 1000 ? `${ms.toFixed(ms < 10 ? 1 : 0)} ms` : `${(ms / 1000).toFixed(2)} s`);
  switch (state.doing) {
    case "lifted":
      if (state.untilMs < 0.001) return say("lets go now");
      return state.liftMm < 1e-6 ? say("meets its pin") : say("lifted by its pin, lets go in {1}", soon(state.untilMs));
    case "damping":
      return say("the pin is at its damper");
    case "ringing":
      return say("dropped, has rung for {1}", soon(state.sinceMs));
  }
  return state.untilMs === Infinity ? say("has no pin") : say("at rest");
}
