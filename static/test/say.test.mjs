import assert from "node:assert/strict";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { test } from "node:test";
import { chosen, fill, say, tableOf } from "../say.js";

for (const [name, phrase, values, want] of /** @type {[string, string, (string | number)[], string][]} */ ([
  ["no place", "Turn", [], "Turn"],
  ["one place", "Stopped at {1}.", ["12°"], "Stopped at 12°."],
  ["places in another order", "{2} of {1}", ["a", "b"], "b of a"],
  ["a place twice", "{1} and {1}", [7], "7 and 7"],
  ["nought is a value", "{1} pins", [0], "0 pins"],
  ["an empty value", "({1})", [""], "()"],
  ["a place without a value stays", "{1} of {2}", ["a"], "a of {2}"],
  ["there is no place 0", "{0}", ["a"], "{0}"],
  ["a value that looks like a place stays", "{1} {2}", ["{2}", "b"], "{2} b"],
  ["a value with the signs of a replacement", "{1}", ["$& $1"], "$& $1"],
  ["more than nine places", "{10}{1}", ["a", 2, 3, 4, 5, 6, 7, 8, 9, "j"], "ja"],
])) {
  test(`a phrase is filled: ${name}`, () => assert.equal(fill(phrase, values), want));
}

for (const [name, phrase, text, want] of /** @type {[string, string, string, string][]} */ ([
  ["a phrase of the table", "Turn", '{"Turn":"Drehen"}', "Drehen"],
  ["a phrase that is missing", "Hold", '{"Turn":"Drehen"}', "Hold"],
  ["an empty translation", "Turn", '{"Turn":""}', "Turn"],
  ["a translation that is no text", "Turn", '{"Turn":7}', "Turn"],
  ["a name that every object has", "constructor", "{}", "constructor"],
  ["no table", "Turn", "", "Turn"],
  ["a table that is cut short", "Turn", '{"Turn":"Dre', "Turn"],
  ["nothing in place of a table", "Turn", "null", "Turn"],
  ["a number in place of a table", "Turn", "7", "Turn"],
])) {
  test(`a phrase is looked up: ${name}`, () => assert.equal(chosen(phrase, tableOf(text)), want));
}

test("on a page a phrase is that of its table, which is read once", async (t) => {
  let reads = 0;
  const words = { get textContent() { reads++; return '{"{1} of {2}":"{2}, davon {1}"}'; } };
  Object.assign(globalThis, { document: { getElementById: (/** @type {string} */ id) => (id === "words" ? words : null) } });
  t.after(() => Reflect.deleteProperty(globalThis, "document"));
  const onPage = await import("../say.js?page");
  assert.equal(onPage.say("{1} of {2}", 3, "vier"), "vier, davon 3");
  assert.equal(onPage.say("Turn"), "Turn");
  assert.equal(reads, 1);
});

test("outside of a page a phrase is its English", () => assert.equal(say("{1} of {2}", 3, "four"), "3 of four"));

const folder = new URL("../", import.meta.url);
const modules = readdirSync(folder).filter((name) => name.endsWith(".js")).sort();

/** A comment, or text in double quotes, in which nothing is one. */
const tokens = /\/\*[^]*?\*\/|(?<!:)\/\/.*|"(?:[^"\\\n]|\\.)*"/g;

/** @param {string} source @returns {string} without its comments */
const code = (source) => source.replace(tokens, (token) => (token[0] === "/" ? " ".repeat(token.length) : token));

/** Reports whether it can be nothing but words. @param {string} text */
const sentence = (text) => /^\p{L}+ \p{L}{2,}(?:[ .,:]|$)/u.test(text);

/**
 * Calls of say.
 * @param {string} source
 * @returns {{ phrase: string | null, at: number }[]}  at: where in the code; the phrase is null where it is no literal
 */
function calls(source) {
  return [...code(source).matchAll(/(?<![.\w]|function )say\(\s*("(?:[^"\\\n]|\\.)*"(?=\s*[,)]))?/g)].map((m) => ({ phrase: m[1] ? JSON.parse(m[1]) : null, at: m.index }));
}

/** Reports whether a reader would take it for words: two letters side by side that are no unit. @param {string} text */
const worded = (text) => /\p{L}{2}/u.test(text.replace(/\b(?:Hz|mm|ms|inch)\b/g, ""));

/** What shows or speaks a text. */
const shows = /setAttribute\("(?:aria-label|aria-roledescription|aria-valuetext|alt|title|placeholder)"|"aria-label":|\b(?:textContent|innerText|ariaLabel) = |\b(?:fillText|announce|tell|report|button|stepper|put|write|Option|append|replaceChildren)\(|\bmake\("(?:p|span|label|button|option|dt|dd|th|td|figcaption|kbd|a)",/;

/** What stands in quotes beside it and is for no reader. */
const others = [
  /(?<![.\w])say\("(?:[^"\\\n]|\\.)*"/g, /setAttribute\("class", "[^"]*"/g, /className = "[^"]*"/g, /[=!]== "[^"]*"/g, /"[-\w]+":/g,
  /\b(?:(?:set|get|has)Attribute|colours|getElementById|querySelector(?:All)?|createElement|addEventListener|closest|matches|Error|make|input|element|hide|put|stepper|CustomEvent|join)\("[^"]*"/g,
  /\{ [^{}]*\b(?:class|id|scope|role|kind|align|type): .*?\}/g,
];

/**
 * Lines with a text that is shown or spoken and that say did not give: in quotes, or between the values of a template.
 * @param {string} source
 * @returns {string[]}
 */
function unwrapped(source) {
  return code(source).split("\n").filter((line) => {
    const rest = others.reduce((text, other) => text.replace(other, ""), line);
    const texts = [...rest.matchAll(/"((?:[^"\\\n]|\\.)*)"|`((?:[^`\\]|\\.)*)`/g)].map((m) => m[1] ?? m[2].replace(/\$\{(?:[^{}]|\{[^{}]*\})*\}/g, " "));
    return texts.some((text) => (shows.test(line) ? worded(text) : sentence(text)));
  });
}

/**
 * How many values a call of say has.
 * @param {string} text  code
 * @param {number} at  of the call
 */
function valuesOf(text, at) {
  let depth = 0, values = 0;
  for (const [token] of text.slice(at).matchAll(/"(?:[^"\\\n]|\\.)*"|`(?:[^`\\]|\\.)*`|[()[\]{},]/g)) {
    if ("([{".includes(token)) depth++;
    else if (token === "," && depth === 1) values++;
    else if (")]}".includes(token) && --depth === 0) return values;
  }
  return NaN;
}

test("what is not wrapped is found", () => {
  for (const source of ['e.setAttribute("aria-label", "The comb");', 'e.textContent = "Nothing chosen";', 'c.fillText("seam", 0, 0);', "e.textContent = `Tooth ${n}`;",
    'announce(on ? say("On") : "Off");', 'make("p", { class: "quiet" }, "Words");', 'button("Closer", () => {})', 'put("listen-at", "There is no sound");', '  ? "This browser cannot make it."']) assert.equal(unwrapped(source).length, 1, source);
  for (const source of ['e.setAttribute("aria-label", say("The comb"));', 'e.textContent = "";', "c.fillText(`${n}`, 0, 0);", "e.textContent = `${n} Hz`;", '// e.textContent = "Words"',
    'e.setAttribute("class", "Words");', 'make("p", { class: "quiet" }, say("Words {1}.", n));']) assert.equal(unwrapped(source).length, 0, source);
});

test("a phrase that is no literal is found", () => {
  for (const source of ["say(words)", "say(`one`)", 'say("one" + two)', 'say(on ? "a" : "b")']) assert.deepEqual(calls(source).map((c) => c.phrase), [null], source);
  for (const source of ["this.say(words)", "essay(words)", "function say(phrase) {", "// say(words)"]) assert.deepEqual(calls(source), [], source);
  assert.deepEqual(calls('say("a \\"b\\"", say("c"))').map((c) => c.phrase), ['a "b"', "c"]);
});

for (const name of modules) {
  const source = readFileSync(new URL(name, folder), "utf8");
  test(`${name} shows no words but through say`, () => assert.deepEqual(unwrapped(source), []));
  if (name === "say.js") continue;
  test(`the phrases of ${name} are literals`, () => {
    for (const { phrase, at } of calls(source)) assert.notEqual(phrase, null, source.slice(at, at + 80));
  });
}

test("a phrase has as many values as places, numbered from 1 on", () => {
  for (const name of modules) {
    const source = readFileSync(new URL(name, folder), "utf8");
    for (const { phrase, at } of calls(source)) {
      const places = new Set([...(phrase ?? "").matchAll(/\{(\d+)\}/g)].map((m) => Number(m[1])));
      const values = valuesOf(code(source), at);
      assert.deepEqual([...places].sort((a, b) => a - b), Array.from({ length: values }, (_, i) => i + 1), `${name}: ${phrase}`);
    }
  }
});

// UPDATE=1 writes the list anew.
test("the catalogue lists every phrase", () => {
  const phrases = [...new Set(modules.flatMap((name) => calls(readFileSync(new URL(name, folder), "utf8")).flatMap((c) => c.phrase ?? [])))].sort();
  assert.ok(phrases.length > 100, `${phrases.length} phrases: the scan looks at nothing`);
  const at = new URL("../web/catalogue/scripts.json", folder);
  const want = `${JSON.stringify(phrases, null, 1)}\n`;
  if (process.env.UPDATE) writeFileSync(at, want);
  assert.equal(readFileSync(at, "utf8"), want, "stale: run UPDATE=1 node --test static/test/say.test.mjs");
});
