/**
 * The cylinder and its comb as a page states them; web/scene.go says the same in Go. Angles are degrees from the datum line in the order
 * in which pins reach the comb, lengths mm, times ms on the cylinder. What there are many of stands in columns.
 *
 * @typedef {{ note: string, pitch: number, hz: number, dampMs: number, repeatMs: number, twin: number }} Tooth
 * @typedef {{ note: string[], tooth: number[], deg: number[], octaves: number[], shiftMs: number[], locked: number[], bar: number[], beat: number[] }} Pins
 * @typedef {{ note: string, name: string, pitch: number, deg: number, track: number, reason: string, bar: number, beat: number }} Left
 * @typedef {{ note: string[], atMs: number[], pitch: number[] }} Written
 * @typedef {{ number: number, deg: number, endDeg: number, beats: number }} Bar
 * @typedef {{ url: string, revision: number, firstBar: number, added: number }} Deciding
 * @typedef {{ anchor: string, kind: string, blocks: boolean, notes: string[], text: string }} Finding
 * @typedef {{
 *   title: string, turnMs: number, gapDeg: number, contactDeg: number, diameterMm: number, circumferenceMm: number, lengthMm: number,
 *   projectionMm: number, pinMm: number, webMm: number, liftMm: number, firstTrackMm: number, spacingMm: number, bassBottom: boolean,
 *   turnsUp: boolean, shiftMs: number, rpm: number[], cylinderArbor: number, teeth: Tooth[], pins: Pins, left: Left[], written: Written,
 *   bars: Bar[], findings: Finding[], transpose: number, deciding: Deciding | null, quality: number
 * }} Scene
 */

/**
 * Reads the scene of a page, or of a fragment of one.
 * @param {ParentNode} root
 * @returns {Scene | null} null where there is none
 */
export function sceneIn(root) {
  const text = root.querySelector("#scene")?.textContent;
  return text ? /** @type {Scene} */ (JSON.parse(text)) : null;
}

/**
 * The time at which a pin lets its tooth go, from the datum line on.
 * @param {Scene} scene
 * @param {number} deg
 * @returns {number} ms, 0 to the turn's
 */
export function releaseMs(scene, deg) {
  return (deg / 360) * scene.turnMs;
}
