import assert from "node:assert/strict";
import { test } from "node:test";
import { explain, fieldsOf, neighbour, pauseMs } from "../answer.js";
import { forget, recent, remember } from "../recent.js";

/** @param {string | null} [text] */
const storeOf = (text = null) => ({ text, getItem() { return this.text; }, /** @param {string} _ @param {string} v */ setItem(_, v) { this.text = v; } });
const entry = (/** @type {number} */ n) => ({ url: `/e/${n}`, title: `Tune ${n}`, at: n });

test("the newest project stands first, once", () => {
  const store = storeOf();
  for (const n of [1, 2, 1]) remember(store, entry(n));
  assert.deepEqual(recent(store), [entry(1), entry(2)]);
});

test("the list keeps the last twelve", () => {
  const store = storeOf();
  for (let n = 0; n < 20; n++) remember(store, entry(n));
  assert.equal(recent(store).length, 12);
  assert.deepEqual(recent(store)[0], entry(19));
});

test("a forgotten project is gone", () => {
  const store = storeOf();
  for (const n of [1, 2]) remember(store, entry(n));
  forget(store, "/e/2");
  assert.deepEqual(recent(store), [entry(1)]);
});

for (const [name, text] of [
  ["nothing", null], ["no JSON", "{"], ["no list", "{}"], ["entries of another shape", '[1,null,{"url":1}]'],
  ["an address of another server", '[{"url":"//elsewhere/","title":"x","at":1}]'],
  ["an address that is a program", '[{"url":"javascript:0","title":"x","at":1}]'],
]) {
  test(`a store that holds ${name} gives no projects`, () => assert.deepEqual(recent(storeOf(text)), []));
}

test("a store that is full does not stop the work", () => {
  remember({ getItem: () => null, setItem() { throw new Error("full"); } }, entry(1));
});

test("a message says how long to wait", () => {
  assert.match(explain(429, "7").detail, /in 7 seconds/);
  assert.match(explain(503, "1").detail, /in 1 second\./);
  assert.match(explain(503, null).detail, /in a moment/);
  assert.match(explain(503, "soon").detail, /in a moment/);
});

test("a change is offered again only where that can help", () => {
  for (const status of [0, 429, 503, 500]) assert.equal(explain(status, null).again, true, String(status));
  for (const status of [403, 404, 413, 422]) assert.equal(explain(status, null).again, false, String(status));
});

test("the server is asked again later and later, at most eight seconds apart", () => {
  assert.deepEqual([0, 1, 2, 3, 4, 5, 50].map(pauseMs), [500, 1000, 2000, 4000, 8000, 8000, 8000]);
});

test("findings go round", () => {
  assert.equal(neighbour(-1, 1, 3), 0);
  assert.equal(neighbour(-1, -1, 3), 2);
  assert.equal(neighbour(2, 1, 3), 0);
  assert.equal(neighbour(0, -1, 3), 2);
  assert.equal(neighbour(-1, 1, 0), -1);
});

test("a pointer names its field, then what that stands in", () => {
  assert.deepEqual(fieldsOf("/drive/stages/1"), ["drive.stages.1", "drive.stages", "drive"]);
  assert.deepEqual(fieldsOf(""), []);
});
