/**
 * Where the drilling of a cylinder stands: which holes are in the metal, which comes next, what is still to be told to the server. Calculation only.
 * web/drill.go says the types in Go.
 *
 * @typedef {{ axialMm: number, angleDeg: number }} Place  in the metal
 * @typedef {Place & { pin: number, tooth: number, note: string, set: string, move: string, angle: string, arc: string, axial: string, place: string, newTrack: boolean, tune: string, own: number }} Hole
 * @typedef {{ title: string, revision: number, drilled: Place[], keeper: string, markUrl: string, waysUrl: string, decideUrl: string, webMm: number,
 *   circumferenceMm: number, units: number, counted: boolean, spaces: boolean, holes: Hole[] }} Drilling
 * @typedef {{ at: string, last: string, datumDeg: number, done: string[], untold: Record<string, boolean> }} Kept  on this device: the hole at hand, the one
 *   that was drilled last, how far the datum line was moved on, the holes that are drilled, and what the server was not told yet, true for drilled
 */

/**
 * The name of a place, to a thousandth of a mm and of a degree, as the server marks it.
 * @param {Place} p
 */
export const nameOf = (p) => `${p.axialMm.toFixed(3)} ${(Math.round(p.angleDeg * 1000) % 360000 / 1000).toFixed(3)}`;

/** @param {unknown} name */
const isName = (name) => typeof name === "string" && /^[\d.]+ [\d.]+$/.test(name);

/** @param {string} name @returns {Place} */
export function placeOf(name) {
  const [axialMm, angleDeg] = name.split(" ").map(Number);
  return { axialMm, angleDeg };
}

/**
 * What stands on the device: what it kept, with what the server knows, in which what it was not told yet comes first.
 * @param {unknown} kept  as it was stored; anything else than a Kept counts as nothing
 * @param {Place[]} marked  by the server
 * @param {boolean} now  reports whether the server says so now, rather than when the page was put by
 * @returns {Kept}
 */
export function joined(kept, marked, now) {
  const had = /** @type {Partial<Kept>} */ (typeof kept === "object" && kept !== null ? kept : {});
  const untold = /** @type {Record<string, boolean>} */ ({});
  for (const [name, drilled] of Object.entries(had.untold ?? {})) if (isName(name)) untold[name] = drilled === true;
  const done = new Set(marked.map(nameOf));
  if (!now && Array.isArray(had.done)) for (const name of had.done) if (isName(name)) done.add(name);
  for (const [name, drilled] of Object.entries(untold)) {
    if (drilled) done.add(name);
    else done.delete(name);
  }
  const text = (/** @type {unknown} */ v) => (typeof v === "string" ? v : "");
  return { at: text(had.at), last: text(had.last), datumDeg: typeof had.datumDeg === "number" ? had.datumDeg : 0, done: [...done], untold };
}

/**
 * Marks a hole, or takes its mark back.
 * @param {Kept} kept
 * @param {Place} hole
 * @param {boolean} drilled
 * @returns {Kept}
 */
export function marked(kept, hole, drilled) {
  const name = nameOf(hole);
  const done = kept.done.filter((n) => n !== name);
  if (drilled) done.push(name);
  const last = drilled ? name : kept.last === name ? "" : kept.last;
  return { ...kept, last, done, untold: { ...kept.untold, [name]: drilled } };
}

/**
 * What is left to tell once the server has answered what was sent; a mark that was changed meanwhile stays.
 * @param {Kept} kept
 * @param {Record<string, boolean>} sent
 * @returns {Kept}
 */
export function told(kept, sent) {
  return { ...kept, untold: Object.fromEntries(Object.entries(kept.untold).filter(([name, drilled]) => sent[name] !== drilled)) };
}

/**
 * The index of the hole at hand: the one that was, else the first that is not drilled, else the last; -1 where there are none.
 * @param {Hole[]} holes
 * @param {Kept} kept
 */
export function atHand(holes, kept) {
  const at = holes.findIndex((h) => nameOf(h) === kept.at);
  if (at >= 0) return at;
  const next = nextOpen(holes, kept, -1);
  return next >= 0 ? next : holes.length - 1;
}

/**
 * The index of the next hole after one that is not drilled, round the end; -1 where all are.
 * @param {Hole[]} holes
 * @param {Kept} kept
 * @param {number} after
 */
export function nextOpen(holes, kept, after) {
  const done = new Set(kept.done);
  for (let k = 1; k <= holes.length; k++) {
    const i = (after + k + holes.length) % holes.length;
    if (!done.has(nameOf(holes[i]))) return i;
  }
  return -1;
}

/**
 * Holes that are in the metal and that no pin of the cylinder as it stands uses.
 * @param {Hole[]} holes
 * @param {Kept} kept
 * @returns {Place[]}
 */
export function unused(holes, kept) {
  const wanted = new Set(holes.map(nameOf));
  return kept.done.filter((name) => !wanted.has(name)).map(placeOf);
}

/**
 * What a key or a pedal means: pedals send the keys that turn pages.
 * @param {string} key
 * @returns {"drilled" | "next" | "back" | ""}
 */
export function meaning(key) {
  switch (key) {
    case "Enter":
    case " ":
    case "PageDown":
      return "drilled";
    case "ArrowRight":
    case "ArrowDown":
      return "next";
    case "PageUp":
    case "ArrowLeft":
    case "ArrowUp":
    case "Backspace":
      return "back";
  }
  return "";
}

/**
 * Reports whether the cylinder stands where the move to a hole is counted from: at the hole before it in the order, which was drilled last, or for the
 * first hole at the datum line, before anything was drilled.
 * @param {Hole[]} holes
 * @param {Kept} kept
 * @param {number} at
 */
export function standsBefore(holes, kept, at) {
  return at === 0 ? kept.last === "" : kept.last === nameOf(holes[at - 1]);
}

/**
 * Where a hole is, told in one of the ways in which a maker knows it, in degrees from the datum line; NaN where that is nowhere.
 * @param {Drilling} work
 * @param {Hole} hole  whose place it should have had
 * @param {string} how  "deg" from the datum line, or how far past its place: "mm" of arc, "units" of the tool; negative for short of it
 * @param {number} value
 */
export function angleOf(work, hole, how, value) {
  if (how === "deg") return value >= 0 && value <= 360 ? value : NaN;
  const off = how === "mm" ? (value / work.circumferenceMm) * 360 : work.units > 0 ? (value / work.units) * 360 : NaN;
  const deg = hole.angleDeg + off;
  return ((deg % 360) + 360) % 360;
}

/**
 * What is kept once the datum line is moved on: what is in the metal lies as much nearer to it, and nothing is drilled from there yet.
 * @param {Kept} kept
 * @param {number} deg
 * @returns {Kept}
 */
export function movedDatum(kept, deg) {
  let then = kept;
  const moved = kept.done.map((name) => {
    const { axialMm, angleDeg } = placeOf(name);
    return { axialMm, angleDeg: (((angleDeg - deg) % 360) + 360) % 360 };
  });
  for (const name of kept.done) then = marked(then, placeOf(name), false);
  for (const place of moved) then = marked(then, place, true);
  return { ...then, last: "", datumDeg: (kept.datumDeg + deg) % 360 };
}
