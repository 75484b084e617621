/**
 * The words that scripts show and speak, in the reader's language. A phrase is its English; the page brings the table of another language as JSON in
 * its element #words, English phrase to translation. web/catalogue/scripts.json lists every phrase. Calculation, but for reading that element.
 *
 * @typedef {Readonly<Record<string, string>>} Table
 */

/** What the page brings, once it was asked for. @type {Table | null} */
let table = null;

/**
 * A phrase in the reader's language.
 * @param {string} phrase  English, always a literal: the catalogue is made of them
 * @param {...(string | number)} values  for {1}, {2} and so on
 */
export function say(phrase, ...values) {
  table ??= tableOf(globalThis.document?.getElementById("words")?.textContent ?? "");
  return fill(chosen(phrase, table), values);
}

/**
 * Reads a table.
 * @param {string} text  JSON
 * @returns {Table} empty where the text is none
 */
export function tableOf(text) {
  try {
    const read = JSON.parse(text);
    return typeof read === "object" && read !== null ? read : {};
  } catch {
    return {};
  }
}

/**
 * @param {string} phrase
 * @param {Table} table
 * @returns {string} the phrase itself where the table has none for it
 */
export function chosen(phrase, table) {
  const found = Object.hasOwn(table, phrase) ? table[phrase] : "";
  return typeof found === "string" && found !== "" ? found : phrase;
}

/**
 * Puts values in the places of {1}, {2} and so on; a place without a value stays as it is, and so does what looks like one within a value.
 * @param {string} phrase
 * @param {readonly (string | number)[]} values
 */
export function fill(phrase, values) {
  return phrase.replace(/\{(\d+)\}/g, (place, n) => String(values[n - 1] ?? place));
}
