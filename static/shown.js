/**
 * How this reader has figures shown: what web/shown.go does on the server, for what the scripts name and measure themselves. The page says what was
 * chosen in attributes of <html>. Calculation, but for reading those.
 *
 * @typedef {{ lengths?: string, angles?: string, notes?: string }} Shown  as by default where one is missing
 */
import { nameOf, names, octaveOf } from "./pitch.js";

/** @type {Record<string, string[]>} */
const languages = {
  german: ["C", "Cis", "D", "Dis", "E", "F", "Fis", "G", "Gis", "A", "B", "H"],
  solfege: ["Do", "Do#", "Re", "Re#", "Mi", "Fa", "Fa#", "Sol", "Sol#", "La", "La#", "Si"],
};

/** What the page asks for; nothing outside of a page. @returns {Shown} */
const ofPage = () => globalThis.document?.documentElement.dataset ?? {};

/** Takes over what a fragment of the page asks for, which was made after it. @param {HTMLElement} fragment */
export function takeOver(fragment) {
  for (const key of ["lengths", "angles", "notes"]) {
    const value = fragment.dataset[key];
    if (value === undefined) delete document.documentElement.dataset[key];
    else document.documentElement.dataset[key] = value;
  }
}

/**
 * The name of a pitch as the reader wants it; what is sent to the server has the name of pitch.js.
 * @param {number} pitch  MIDI number
 * @param {Shown} [shown]
 */
export function noteIn(pitch, shown = ofPage()) {
  const language = languages[shown.notes ?? ""];
  return language ? language[names.indexOf(nameOf(pitch).replace(/-?\d+$/, ""))] + octaveOf(pitch) : nameOf(pitch);
}

/** Reports whether angles are shown in degrees, minutes and seconds. @param {Shown} [shown] */
export const inSixties = (shown = ofPage()) => shown.angles === "dms";

/** The unit of lengths, and how many mm it has. @param {Shown} [shown] */
export const lengthUnit = (shown = ofPage()) => (shown.lengths === "inch" ? { name: "inch", mm: 25.4 } : { name: "mm", mm: 1 });

/**
 * A length with its unit. In inch it has four decimals, 2.54 µm, and five where three decimals of a mm are shown, which four would lose.
 * @param {number} mm
 * @param {number} decimals  of the mm
 * @param {Shown} [shown]
 */
export function length(mm, decimals, shown = ofPage()) {
  const unit = lengthUnit(shown);
  return `${(mm / unit.mm).toFixed(unit.name === "mm" ? decimals : decimals >= 3 ? 5 : 4)} ${unit.name}`;
}

/**
 * An angle with its sign; in degrees, minutes and seconds as finely as so many decimals of a degree are, rounded once and carried.
 * @param {number} deg
 * @param {number} decimals  of the decimal degree
 * @param {Shown} [shown]
 */
export function angle(deg, decimals, shown = ofPage()) {
  if (!inSixties(shown)) return `${deg.toFixed(decimals)}°`;
  const parts = [1, 60, 3600][Math.min(decimals, 2)];
  const n = Math.round(Math.abs(deg) * parts);
  const two = (/** @type {number} */ v) => String(v).padStart(2, "0");
  let text = `${deg < 0 && n > 0 ? "−" : ""}${Math.floor(n / parts)}°`;
  if (parts >= 60) text += `\u00a0${two(Math.floor(((n % parts) * 60) / parts))}′`;
  if (parts === 3600) text += `\u00a0${two(n % 60)}″`;
  return text;
}
