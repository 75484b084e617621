/**
 * Writing a tune by hand: notes typed in a field, set on the brass, or pressed on a keyboard that the browser hears. Each is a decision of its
 * own, sent one after the other; what is typed faster waits for its turn. What the hand was about to do outlives the page's redrawing.
 *
 * @import { Scene } from "./scene.js"
 * @import { Chord, Place } from "./writing.js"
 *
 * What was typed, the last last: notes at one place, or a rest, which has none. The ids are known once the notes are written; before and revision
 * say between which two states of the project that was.
 * @typedef {{ at: Place, pitches: number[], ids: string[], before: number, revision: number }} Entry
 *
 * A change that waits or is under way; writes says that it is what first writes the entry. What it is, is asked for when its turn has come.
 * @typedef {{ entry: Entry | null, writes: boolean, decision: (scene: Scene) => object | null, done: (scene: Scene) => void, refused: () => void }} Change
 */
import { announce, make } from "./dom.js";
import { isPitch, nameOf, octaveOf } from "./pitch.js";
import { say } from "./say.js";
import { sceneIn } from "./scene.js";
import { noteIn } from "./shown.js";
import * as writing from "./writing.js";

/** The last note where none was written: the octave that small combs are cut in. */
const startsNear = 72;
/** How long a key's message may be on its way, beyond what makes a chord, ms. */
const lateMs = 15;
const mostShown = 8;

/** The name of a note in words for the reader; decisions have nameOf. @param {number} pitch */
const called = (pitch) => noteIn(pitch);

/** @param {number[]} pitches @returns {string} empty where there are none */
const together = (pitches) => pitches.map(called).reduce((all, note) => (all === "" ? note : say("{1} with {2}", all, note)), "");

/** The control, from one redrawing to the next. */
class Desk {
  /** @type {Place} */ place;
  last = startsNear;
  /** @type {Entry[]} */ entries = [];
  /** @type {Change[]} */ waiting = [];
  /** @type {Change | null} */ underWay = null;
  /** @type {Chord | null} */ chord = null;
  chordTimer = 0;
  /** @type {MIDIAccess | null} */ access = null;

  /** @param {Scene} scene */
  constructor(scene) {
    this.scene = scene;
    this.place = { bar: scene.bars[0]?.number ?? scene.deciding?.firstBar ?? 1, beat: 1 };
    this.keys = make("div", { id: "write-keys" });
    this.keys.tabIndex = 0;
    this.keys.setAttribute("role", "application");
    this.keys.setAttribute("aria-labelledby", "write-title");
    this.keys.setAttribute("aria-describedby", "write-says write-help");
    this.says = make("span", { id: "write-says" });
    this.lately = make("span", { id: "write-lately" });
    this.keys.append(this.says, this.lately);
    this.keys.addEventListener("keydown", (e) => this.key(e));
    this.step = make("select", { id: "write-step" }, ...writing.steps.map((s) => make("option", {}, s.words)));
    this.step.selectedIndex = 1;
    this.step.addEventListener("change", () => this.show());
    this.brass = make("input", { id: "write-brass" });
    this.brass.type = "checkbox";
    this.brass.addEventListener("change", () => this.show());
    this.listen = make("button", { id: "write-listen" }, say("Listen to a keyboard"));
    this.listen.type = "button";
    this.listen.addEventListener("click", () => void this.hearKeyboard());
    this.heard = make("span", { id: "write-heard" });
    this.heard.setAttribute("role", "status");
    this.onBrass = make("p", { id: "write-on-brass" });
    const title = make("p", { id: "write-title" }, say("Type notes"));
    title.addEventListener("click", () => this.keys.focus());
    const row = make("div", {}, make("label", {}, `${say("Step")} `, this.step), make("label", {}, this.brass, ` ${say("Write on the brass")}`), this.listen, this.heard);
    row.className = "row";
    this.help = make("p", { id: "write-help" },
      `${say("a to g write a note, the one nearest to the last, with Shift a sharp; # and − then raise and lower it by a semitone.")} `,
      say("Space is a rest, ← and → move the place by a step, Page Up and Page Down by a bar, ↑ and ↓ change the octave, 1 to 5 choose the step, Backspace takes the last note out."),
      called(71) === nameOf(71) ? "" : ` ${say("The letters are those of the English names: b is {1}.", called(71).slice(0, -1))}`);
    for (const p of [this.help, this.onBrass]) p.className = "quiet";
    this.box = make("div", { id: "writing" }, title, this.keys, row, this.onBrass, this.help);
    this.show();
  }

  get stepBeats() {
    return writing.steps[Math.max(0, this.step.selectedIndex)].beats;
  }

  get firstBar() {
    return this.scene.deciding?.firstBar ?? 1;
  }

  /** @param {Scene} scene  as it stands now */
  renew(scene) {
    this.scene = scene;
    const added = scene.deciding?.added ?? 0;
    const undone = this.entries.findIndex((e) => e.ids.some((id) => Number(id.slice(1)) > added)); // by undo, somewhere else on the page
    if (undone >= 0 && !this.underWay) this.backTo(this.entries[undone]);
    this.show();
  }

  /** Forgets an entry and those after it, and stands where it stood. @param {Entry} entry */
  backTo(entry) {
    const from = this.entries.indexOf(entry);
    if (from < 0) return;
    this.entries.splice(from);
    this.place = entry.at;
    this.waiting = this.waiting.filter((c) => !c.entry || this.entries.includes(c.entry));
    this.last = this.entries.findLast((e) => e.pitches.length > 0)?.pitches.at(-1) ?? this.last;
  }

  show() {
    const step = writing.steps[Math.max(0, this.step.selectedIndex)].words;
    this.says.textContent = say("{1}; step {2}; octave {3}.", this.where(), step, octaveOf(this.last));
    const lately = this.entries.slice(-mostShown).map((e) => together(e.pitches) || say("rest"));
    this.lately.textContent = lately.length > 0 ? say("Last: {1}.", lately.join(", ")) : say("Nothing typed yet.");
    const none = this.scene.teeth.length === 0;
    this.onBrass.textContent = none
      ? say("There is no tooth yet, and so no track to write on: type the first notes.")
      : say("With “Write on the brass”, a click on a track of the drawing writes a note of its tooth at the nearest step, and a note written by hand can be dragged along its track.");
  }

  where() {
    const words = writing.placeInWords(this.place);
    return words[0].toUpperCase() + words.slice(1);
  }

  // What is written.

  /**
   * Writes notes at a place.
   * @param {number[]} pitches
   * @param {Place} at
   * @param {Place} [next]  where the next note goes
   */
  write(pitches, at, next = writing.onBy(this.scene.bars, at, this.stepBeats, this.firstBar)) {
    /** @type {Entry} */
    const entry = { at: this.place, pitches, ids: [], before: -1, revision: -1 };
    const had = this.last;
    this.entries.push(entry);
    this.last = pitches[pitches.length - 1];
    this.place = next;
    const words = () => `${together(pitches)}, ${writing.placeInWords(at)}`;
    this.send({
      entry,
      writes: true,
      decision: (scene) => {
        entry.before = scene.deciding?.revision ?? -1;
        return writing.adding(entry.pitches, at);
      },
      done: (scene) => {
        const added = scene.deciding?.added ?? 0;
        entry.ids = entry.pitches.map((_, i) => `a${added - entry.pitches.length + 1 + i}`);
        entry.revision = scene.deciding?.revision ?? -1;
        const following = writing.placeInWords(this.place);
        announce(writing.plays(scene.bars, at) ? say("{1}. Next: {2}.", words(), following) : say("{1}. This bar is not among those that play. Next: {2}.", words(), following));
      },
      refused: () => {
        this.backTo(entry);
        this.last = had;
        announce(say("{1} was not written. The place is {2}.", words(), writing.placeInWords(this.place)));
      },
    });
  }

  /** @param {Entry} entry @returns {boolean} reports whether it is not sent yet */
  waits(entry) {
    return this.waiting.some((c) => c.writes && c.entry === entry);
  }

  rest() {
    this.entries.push({ at: this.place, pitches: [], ids: [], before: -1, revision: -1 });
    this.move(this.stepBeats, true);
  }

  /** Raises or lowers the note that was written last. @param {number} by  semitones */
  alter(by) {
    const entry = this.entries.findLast((e) => e.pitches.length > 0);
    const was = entry?.pitches.at(-1);
    if (!entry || was === undefined) {
      announce(say("No note was typed yet to raise or lower."));
      return;
    }
    const pitch = was + by;
    if (!isPitch(pitch)) return;
    const at = entry.pitches.length - 1;
    const set = (/** @type {number} */ p) => {
      entry.pitches[at] = p;
      if (this.entries.findLast((e) => e.pitches.length > 0) === entry) this.last = p;
      this.show();
    };
    set(pitch);
    if (this.waits(entry)) return; // it will be sent as it is now
    this.send({
      entry,
      writes: false,
      decision: () => ({ kind: "move", note: entry.ids[at], pitch: nameOf(pitch) }),
      done: () => announce(say("{1} is {2} now.", called(was), called(pitch))),
      refused: () => set(was),
    });
  }

  takeOut() {
    const entry = this.entries.at(-1);
    if (!entry) {
      announce(say("Nothing was typed that could be taken out."));
      return;
    }
    const written = entry.pitches.length > 0 && !this.waits(entry);
    this.backTo(entry);
    const words = together(entry.pitches) || say("Rest");
    const told = () => announce(say("{1} taken out. The place is {2}.", words, writing.placeInWords(this.place)));
    this.show();
    if (!written) {
      told();
      return;
    }
    this.send({
      entry: null,
      writes: false,
      decision: (scene) => {
        if (entry.ids.length === 0) return null; // it was refused
        if (scene.deciding?.revision === entry.revision) return { kind: "undo" };
        entry.before = -1;
        const all = entry.ids.map((note) => ({ kind: "remove", note }));
        return all.length === 1 ? all[0] : { kind: "several", decisions: all };
      },
      done: (scene) => {
        const before = this.entries.find((e) => e.revision >= 0 && e.revision === entry.before);
        if (before) before.revision = scene.deciding?.revision ?? -1; // the project stands as it did after that one
        told();
      },
      refused: () => {},
    });
  }

  /** @param {number} by  beats @param {boolean} [rest]  by a rest */
  move(by, rest = false) {
    this.place = writing.onBy(this.scene.bars, this.place, by, this.firstBar);
    this.show();
    announce(rest ? say("Rest. {1}.", this.where()) : `${this.where()}.`);
  }

  /** @param {number} by  octaves */
  octave(by) {
    if (isPitch(this.last + 12 * by)) this.last += 12 * by;
    this.show();
    announce(say("Octave {1}.", octaveOf(this.last)));
  }

  // What is sent.

  /** @param {Change} change */
  send(change) {
    this.waiting.push(change);
    this.show();
    this.next();
  }

  /** Sends what has waited longest, unless another change is under way, here or elsewhere on the page. */
  next() {
    while (!this.underWay && this.waiting.length > 0) {
      const change = this.waiting[0];
      const decision = change.decision(this.scene);
      if (!decision) {
        this.waiting.shift();
        continue;
      }
      this.underWay = change;
      if (document.dispatchEvent(new CustomEvent("decide", { detail: decision, cancelable: true }))) {
        this.underWay = null;
        return;
      }
      this.waiting.shift();
    }
  }

  /** @param {boolean} made */
  settle(made) {
    const change = this.underWay;
    this.underWay = null;
    if (change) {
      if (made) change.done(this.scene);
      else change.refused();
      this.show();
    }
    window.setTimeout(() => this.next()); // project.js is free for the next one only after it has told of this one
  }

  // Keys.

  /** @param {KeyboardEvent} e */
  key(e) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const pitch = writing.pitchOf(e.key.toLowerCase(), e.shiftKey, this.last);
    if (pitch >= 0) this.write([pitch], this.place);
    else if (e.key === "#" || e.key === "+") this.alter(1);
    else if (e.key === "-" || e.key === "−") this.alter(-1);
    else if (/^[1-5]$/.test(e.key)) {
      this.step.selectedIndex = Number(e.key) - 1;
      this.show();
      announce(say("Step {1}.", writing.steps[this.step.selectedIndex].words));
    } else if (e.key === " ") this.rest();
    else if (e.key === "ArrowRight") this.move(this.stepBeats);
    else if (e.key === "ArrowLeft") this.move(-this.stepBeats);
    else if (e.key === "PageDown") this.move(writing.beatsIn(this.scene.bars, this.place.bar));
    else if (e.key === "PageUp") this.move(-writing.beatsIn(this.scene.bars, this.place.bar - 1));
    else if (e.key === "ArrowUp") this.octave(1);
    else if (e.key === "ArrowDown") this.octave(-1);
    else if (e.key === "Backspace") this.takeOut();
    else return;
    e.preventDefault();
    e.stopPropagation();
  }

  // The brass.

  /** @param {CustomEvent} e  a click on a track where no pin is */
  clicked(e) {
    if (!this.brass.checked) return;
    e.preventDefault();
    const { tooth, deg } = e.detail;
    const at = writing.placeAt(this.scene.bars, deg, this.stepBeats);
    const pitch = writing.writtenFor(this.scene, tooth);
    if (!at) announce(say("No bar plays there: it is the silent gap."));
    else if (!isPitch(pitch)) announce(say("In the key that is played no note can be written that sounds on this tooth."));
    else this.write([pitch], at, this.place);
  }

  /** @param {CustomEvent} e  a note that a hand drags along its track */
  dragged(e) {
    const { note, deg, place } = e.detail;
    if (!this.brass.checked || !writing.byHand(note)) return;
    const at = writing.placeAt(this.scene.bars, deg, this.stepBeats) ?? place;
    const to = writing.degOf(this.scene.bars, at);
    if (to === null) return;
    e.preventDefault();
    const stays = writing.samePlace(at, place);
    e.detail.answer = { deg: to, words: stays ? say("It stays in {1}.", writing.placeInWords(at)) : say("To {1}.", writing.placeInWords(at)), decision: stays ? null : { kind: "move", note, ...at } };
  }

  // A keyboard.

  async hearKeyboard() {
    if (this.access) {
      for (const input of this.access.inputs.values()) input.onmidimessage = null;
      this.access.onstatechange = null;
      this.access = null;
      this.listen.textContent = say("Listen to a keyboard");
      this.heard.textContent = "";
      return;
    }
    if (!navigator.requestMIDIAccess) {
      this.heard.textContent = window.isSecureContext
        ? say("This browser does not let a page hear a keyboard. Type the notes instead.")
        : say("A browser lets a page hear a keyboard only where the page comes over https. Type the notes instead.");
      return;
    }
    this.heard.textContent = say("Waiting for the browser's leave.");
    try {
      this.access = await navigator.requestMIDIAccess();
    } catch {
      this.heard.textContent = say("The browser did not allow it. Its settings for this page can; or type the notes.");
      return;
    }
    this.listen.textContent = say("Stop listening");
    const connect = () => {
      const inputs = [...(this.access?.inputs.values() ?? [])].filter((i) => i.state === "connected");
      for (const input of inputs) input.onmidimessage = (m) => this.pressed(m);
      this.heard.textContent = inputs.length > 0 ? say("Listening to {1}.", inputs.map((i) => i.name ?? say("a keyboard")).join(", ")) : say("No keyboard is connected yet.");
    };
    this.access.onstatechange = connect;
    connect();
  }

  /** @param {MIDIMessageEvent} message */
  pressed(message) {
    const pitch = message.data ? writing.pressed(message.data) : -1;
    if (pitch < 0) return;
    const { chord, done } = writing.press(this.chord, pitch, message.timeStamp);
    if (done) this.write(done.pitches, this.place);
    if (done || !this.chord) {
      window.clearTimeout(this.chordTimer);
      this.chordTimer = window.setTimeout(() => {
        const last = this.chord;
        this.chord = null;
        if (last) this.write(last.pitches, this.place);
      }, writing.chordMs + lateMs);
    }
    this.chord = chord;
  }
}

/** @type {Desk | null} */
let desk = null;

/** Puts the control beside the plain form, at first and each time the page is drawn anew. */
document.addEventListener("redrawn", () => {
  const form = document.getElementById("add-note");
  const scene = sceneIn(document);
  if (!form || !scene?.deciding) return;
  if (desk) desk.renew(scene);
  else desk = new Desk(scene);
  form.after(desk.box);
});
document.addEventListener("decided", (e) => {
  if (e instanceof CustomEvent) desk?.settle(e.detail.made);
});
document.addEventListener("brass", (e) => {
  if (e instanceof CustomEvent) desk?.clicked(e);
});
document.addEventListener("rewrite", (e) => {
  if (e instanceof CustomEvent) desk?.dragged(e);
});
