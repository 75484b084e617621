/**
 * The page beside the drill: the hole at hand, large; next and back by tap, key or pedal. Where it stands is kept on the device, and in the project as
 * soon as the server answers.
 *
 * @import { Drilling, Hole, Kept } from "./drilling.js"
 */
import { pauseMs } from "./answer.js";
import { announce, make } from "./dom.js";
import { angleOf, atHand, joined, marked, meaning, movedDatum, nameOf, nextOpen, placeOf, standsBefore, told, unused } from "./drilling.js";
import { browserStore } from "./recent.js";
import { say } from "./say.js";
import { angle, length } from "./shown.js";

const work = /** @type {Drilling} */ (JSON.parse(document.getElementById("drilling")?.textContent ?? "{}"));
const card = /** @type {HTMLElement} */ (document.getElementById("drill"));
const store = browserStore();
const key = `pinwright.drilled.${location.pathname}`;

/** @type {Kept} */
let kept = joined(read(), work.drilled, false);
let at = atHand(work.holes, kept);
/** True while marks are on their way. */
let telling = false;
/** When the server is asked again, and how often it was. */
let again = 0, tries = 0;
/** What was noted of a hole that was drilled wrong, until the next hole. */
let noted = "";
/** Why the server was not told; empty where it was. */
let untoldBecause = "";

/** @returns {unknown} */
function read() {
  try {
    return JSON.parse(store.getItem(key) ?? "null");
  } catch {
    return null;
  }
}

function keep() {
  kept = { ...kept, at: at >= 0 ? nameOf(work.holes[at]) : "" };
  try {
    store.setItem(key, JSON.stringify(kept));
  } catch {
    // a full or forbidden store: the place is kept as long as the page is open
  }
}

/** Tells the server what it does not know yet, and learns what it knows. */
async function tell() {
  if (telling || !work.markUrl) return;
  telling = true;
  const sent = { ...kept.untold };
  const of = (/** @type {boolean} */ drilled) => Object.keys(sent).filter((name) => sent[name] === drilled).map(placeOf);
  try {
    const response = await fetch(work.markUrl, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ drilled: of(true), undrilled: of(false) }) });
    if (response.ok) {
      const { holes } = await response.json(); // what is marked meanwhile must not be overwritten
      kept = joined(told(kept, sent), holes, true);
      untoldBecause = "";
      keep();
    } else {
      untoldBecause = say("The server answered {1}; the marks are kept on this device.", response.status);
    }
  } catch {
    untoldBecause = say("No connection: the marks are kept on this device and sent when the server answers.");
  }
  telling = false;
  window.clearTimeout(again);
  if (untoldBecause) again = window.setTimeout(() => void tell(), pauseMs(tries++));
  else tries = 0;
  show();
  if (untoldBecause === "" && Object.keys(kept.untold).length > 0) void tell(); // what was marked meanwhile
}

/**
 * @param {string} text
 * @param {() => void} does
 */
function button(text, does) {
  const b = make("button", {}, text);
  b.type = "button";
  b.addEventListener("click", (event) => {
    does();
    if (event.detail > 0 && document.activeElement instanceof HTMLButtonElement) document.activeElement.blur(); // tapped: the keys are the page's again
  });
  return b;
}

/** @param {number} to */
function go(to) {
  if (to < 0 || to >= work.holes.length) return;
  at = to;
  noted = "";
  keep();
  show();
  announce(spoken(work.holes[at]));
}

/** @param {Hole} hole */
const spoken = (hole) => [say("Hole {1}", work.holes.indexOf(hole) + 1), hole.set, hole.move && standsBefore(work.holes, kept, work.holes.indexOf(hole)) ? say("on by {1}", hole.move) : "", say("{1} from the bass-end face", hole.axial)].filter(Boolean).join(", ");

function drilled() {
  if (at < 0) return;
  kept = marked(kept, work.holes[at], true);
  const next = nextOpen(work.holes, kept, at);
  if (next >= 0) go(next);
  else {
    keep();
    show();
    announce(say("All holes are drilled."));
  }
  void tell();
}

function undrilled() {
  kept = marked(kept, work.holes[at], false);
  keep();
  show();
  void tell();
}

function show() {
  card.hidden = work.holes.length === 0;
  if (at < 0) return;
  const hole = work.holes[at], done = new Set(kept.done), isDone = done.has(nameOf(hole));
  const count = work.holes.filter((h) => done.has(nameOf(h))).length;
  const focus = document.activeElement instanceof HTMLElement ? document.activeElement.dataset.does : undefined;
  const bar = make("progress", { "aria-label": say("Holes drilled") });
  bar.max = work.holes.length;
  bar.value = count;
  /** @type {HTMLElement[]} */
  const parts = [
    make("p", { class: "quiet" }, say("{1} of {2} holes are drilled", count, work.holes.length)),
    bar,
    make("h2", {}, say("Hole {1}", at + 1), make("span", { class: "quiet" }, ` · ${say("pin {1}, track {2}, {3}", hole.pin, hole.tooth, hole.note)}`)),
    make("p", { class: "set" }, hole.set),
  ];
  if (hole.tune) parts.splice(3, 0, make("p", {}, hole.tune));
  if (hole.move && standsBefore(work.holes, kept, at)) {
    const from = at === 0 ? say("from the datum line") : say("from hole {1}", at);
    parts.push(make("p", { class: "move" }, hole.newTrack && at > 0 ? say("{1} on by {2}, past the datum line", from, hole.move) : say("{1} on by {2}", from, hole.move)));
  } else if (hole.move && !isDone) {
    parts.push(make("p", { class: "move" }, at === 0 ? say("Count from the datum line.") : say("Count from the datum line: hole {1} was not the last to be drilled.", at)));
  }
  if (work.spaces) parts.push(make("p", { class: "quiet" }, say("Holes of the circle are spaces: the one that the pin stands in is not counted.")));
  if (hole.newTrack) parts.push(make("p", { class: "move" }, say("New track: move along to {1} from the bass-end face.", hole.axial)));
  parts.push(make("p", { class: "quiet" }, say("{1} · arc {2} · {3} from the bass-end face · {4}", hole.angle, hole.arc, hole.axial, hole.place)));
  const rows = make("div", { class: "steps" });
  const back = button(say("Back"), () => go(at - 1)), next = button(say("Next"), () => go(at + 1));
  back.disabled = at === 0;
  next.disabled = at === work.holes.length - 1;
  const mark = button(isDone ? say("Not drilled after all") : say("Drilled"), isDone ? undrilled : drilled);
  mark.classList.toggle("strong", !isDone);
  back.dataset.does = "back";
  next.dataset.does = "next";
  mark.dataset.does = "mark";
  rows.append(back, mark, next);
  parts.push(rows);
  if (isDone) parts.splice(2, 0, make("p", { class: "settled-mark" }, say("Drilled.")));
  if (kept.datumDeg > 0) parts.push(make("p", { class: "quiet" }, say("The datum line is the one scribed {1} on from the first.", angle(kept.datumDeg, 2))));
  const empty = unused(work.holes, kept).length;
  if (empty > 0) parts.push(make("p", { class: "quiet" }, empty === 1 ? say("One hole is in the metal that no pin uses.") : say("{1} holes are in the metal that no pin uses.", empty)));
  if (noted) parts.push(make("p", { class: "settled-mark", role: "status" }, noted));
  if (work.waysUrl && hole.own > 0) parts.push(wrongly(hole));
  if (untoldBecause) parts.push(make("p", { class: "quiet", role: "status" }, untoldBecause));
  parts.push(make("p", { class: "keys quiet" }, say("Enter, Space or a pedal: drilled, and on to the next. Arrows: look at the next or the one before.")));
  card.replaceChildren(...parts);
  if (focus && !(focus === "mark" && isDone)) { // a key that marks must not take the mark back
    const again = card.querySelector(`[data-does="${focus}"]`);
    if (again instanceof HTMLElement) again.focus({ preventScroll: true });
  }
}

/**
 * What to do where the hole was drilled in the wrong place.
 * @param {Hole} hole
 */
function wrongly(hole) {
  const where = make("input", { type: "number", step: "any", required: "", id: "spoiled-at", inputmode: "decimal", "aria-label": say("how much") });
  const how = make("select", { id: "spoiled-how", "aria-label": say("told in") });
  const places = [["deg", say("degrees from the datum line")], ["mm", say("mm of arc past its place, less than 0 for short of it")]];
  if (work.counted) places.push(["units", work.spaces ? say("holes of the circle past its place, less than 0 for short of it") : say("divisions or steps past its place, less than 0 for short of it")]);
  for (const [value, words] of places) how.append(new Option(words, value));
  const label = make("label", {}, `${say("On its own track, the hole is at")} `, where, how);
  const ways = make("div", { class: "ways", role: "status" });
  const form = make("form", { class: "row" }, label);
  const ask = make("button", {}, say("Show the ways out"));
  form.append(ask);
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const deg = angleOf(work, hole, how.value, where.valueAsNumber);
    if (Number.isNaN(deg)) ways.replaceChildren(say("Give 0 to 360 degrees."));
    else void showWays(hole, deg, ways);
  });
  return make("details", { class: "plain", id: "spoiled" }, make("summary", {}, say("I drilled this wrong")), form, ways);
}

/**
 * @param {Hole} hole
 * @param {number} deg  where the hole is
 * @param {HTMLElement} into
 */
async function showWays(hole, deg, into) {
  into.replaceChildren(say("Being worked out. Nothing changes meanwhile."));
  try {
    const response = await fetch(work.waysUrl, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ pin: hole.own, angleDeg: deg }) });
    const answer = await response.json();
    if (!response.ok) {
      into.replaceChildren(make("p", { class: "answer bad" }, answer.detail ?? say("The server answered {1}.", response.status)));
      return;
    }
    const list = make("ul", {});
    for (const way of answer.ways) {
      const item = make("li", { "data-way": way.kind }, way.text);
      if (way.decision) {
        if (way.effect) item.append(` ${say("With it: {1}.", way.effect)}`);
        item.append(" ", button(say("Decide so"), () => void decide(hole, deg, way, into)));
      } else {
        const does = button(way.kind === "new-datum" ? say("Begin anew from there") : say("I do so"), () => {
          if (way.kind === "new-datum" && does.dataset.sure !== "yes") { // all that was drilled counts for nothing then
            does.dataset.sure = "yes";
            does.textContent = say("All holes are then drilled anew. Press again to begin.");
            return;
          }
          settled(hole, deg, way);
          noted = way.kind === "new-datum" ? say("Begun anew. What was drilled stays in the metal and is kept in mind.") : say("Noted. Hole {1} is still to be drilled in its place.", work.holes.indexOf(hole) + 1);
          show();
        });
        item.append(" ", does);
      }
      list.append(item);
    }
    into.replaceChildren(list);
  } catch {
    into.replaceChildren(make("p", {}, say("No connection. Go on with other holes; this one can wait until the server answers.")));
  }
}

/**
 * Notes the hole that is in the metal, and goes on.
 * @param {Hole} hole
 * @param {number} deg
 * @param {{ kind: string, datumDeg?: number }} way
 */
function settled(hole, deg, way) {
  if (way.kind === "new-datum") {
    kept = movedDatum(marked(kept, { axialMm: hole.axialMm, angleDeg: deg }, true), way.datumDeg ?? 0);
  } else if (way.kind === "leave-empty") {
    kept = marked(kept, { axialMm: hole.axialMm, angleDeg: deg }, true);
  }
  if (way.kind === "new-datum") go(0);
  else {
    keep();
    show();
  }
  void tell();
}

/**
 * Makes the decision, and loads the holes anew.
 * @param {Hole} hole
 * @param {number} deg
 * @param {{ kind: string, decision: object }} way
 * @param {HTMLElement} into
 */
async function decide(hole, deg, way, into) {
  try {
    const body = new URLSearchParams({ revision: String(work.revision), decision: JSON.stringify(way.decision) });
    const response = await fetch(work.decideUrl, { method: "POST", body, headers: { "Pinwright-Fragment": "1" } });
    if (!response.ok) {
      into.replaceChildren(make("p", { class: "answer bad" }, response.status === 412 ? say("Someone else changed the project first. Load this page again.") : say("The server answered {1}.", response.status)));
      return;
    }
    kept = marked(kept, { axialMm: hole.axialMm, angleDeg: deg }, true); // in the metal, used or not
    at = -1; // the holes that come have an order of their own
    keep();
    await tell();
    location.reload();
  } catch {
    into.replaceChildren(make("p", {}, say("No connection. Go on with other holes; this one can wait until the server answers.")));
  }
}

document.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey || event.defaultPrevented) return;
  const target = event.target;
  if (target instanceof Element && target.closest("input, select, textarea, .scroll")) return;
  if ((event.key === "Enter" || event.key === " ") && target instanceof Element && target.closest("summary, a, button")) return; // they have a meaning of their own
  const means = meaning(event.key);
  if (!means) return;
  event.preventDefault();
  if (means === "drilled") {
    if (!event.repeat) drilled();
  } else go(at + (means === "next" ? 1 : -1));
});
window.addEventListener("online", () => void tell());

/** Puts this page and what it is made of by, for when there is no connection. */
async function putBy() {
  if (!("serviceWorker" in navigator) || !window.isSecureContext) return;
  try {
    await navigator.serviceWorker.register(work.keeper, { scope: location.pathname });
    const parts = performance.getEntriesByType("resource").map((e) => new URL(e.name)).filter((u) => u.origin === location.origin && u.pathname.startsWith("/static/"));
    const shelf = await caches.open("pinwright.drill");
    await shelf.addAll([...new Set([location.pathname, ...parts.map((u) => u.pathname)])]);
    card.dataset.kept = "yes";
  } catch {
    // the page works as long as it is open
  }
}

const all = document.getElementById("all-holes");
if (all instanceof HTMLDetailsElement) all.open = false;
keep();
show();
void tell();
void putBy();
