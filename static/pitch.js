/** Pitches by MIDI number, C4 = 60. Calculation only. */

/** The notes of an octave, as the server writes them. */
export const names = ["C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B"];

/** @param {number} pitch @returns {string} "C#5" */
export const nameOf = (pitch) => names[((pitch % 12) + 12) % 12] + octaveOf(pitch);

/** @param {number} pitch */
export const octaveOf = (pitch) => Math.floor(pitch / 12) - 1;

/** @param {number} pitch @returns {boolean} */
export const isPitch = (pitch) => Number.isInteger(pitch) && pitch >= 0 && pitch <= 127;

/** The frequency in Hz, in equal temperament with A4 = 440 Hz (ISO 16). @param {number} pitch */
export const frequencyOf = (pitch) => 440 * 2 ** ((pitch - 69) / 12);
