/**
 * The drawing as a workplace: the unrolled cylinder beside its comb on a canvas, looked at from near or far, with pins that can be chosen and
 * moved by hand, by key or by button. The drawing that came with the page stays for the printer, and where there is no script.
 *
 * @import { Scene } from "./scene.js"
 * @import { Surface, View } from "./surface.js"
 * @import { Chosen } from "./paint.js"
 */
import { announce, make } from "./dom.js";
import { pinsInWords } from "./othercomb.js";
import { Painter, lower, paletteOf, upper } from "./paint.js";
import { say } from "./say.js";
import { sceneIn } from "./scene.js";
import { angle, length } from "./shown.js";
import * as surface from "./surface.js";

/** How far a finger or a mouse may miss, px; and how far it must move before it drags. */
const reach = 12, slack = 4;

/**
 * A button that says what it does.
 * @param {string} text
 * @param {() => void} does
 */
function button(text, does) {
  const b = make("button", {}, text);
  b.type = "button";
  b.addEventListener("click", does);
  return b;
}

/** Kinds of findings, in the words of the page. @type {Record<string, string>} */
const kinds = {
  "off-comb": say("without a tooth"), repeat: say("too soon"), seam: say("too soon across the seam"), holes: say("holes too near"), load: say("too many together"), overrun: say("after the end"),
  moved: say("moved by octaves"), "left-out": say("left out"), doubled: say("plucked twice"), contradiction: say("decisions that contradict"), unmet: say("waiting"),
};

/**
 * Where a note would be written: the angle, in words, and the decision; null where it is there already.
 * @typedef {{ deg: number, words: string, decision: object | null }} Rewriting
 */

/**
 * Tells whoever writes by hand what was done on the brass.
 * @param {string} type
 * @param {{ deg: number, tooth?: number, note?: string, place?: import("./writing.js").Place, answer?: Rewriting }} detail  gets the answer, where there is one
 * @returns {boolean} reports whether it was taken up
 */
function offered(type, detail) {
  return !document.dispatchEvent(new CustomEvent(type, { detail, cancelable: true }));
}

/** The part of the page that holds the drawing, from one redrawing to the next. */
class Roll {
  /** @type {Surface} */ s;
  /** @type {View | null} */ view = null;
  /** @type {Chosen} */ chosen = { pin: -1, left: -1, tooth: -1, among: null, span: null, drag: null, teeth: [], then: null, at: null };
  /** Note of the pin or left-out note that is chosen, which outlives the pins' numbers. */
  note = "";
  /** Octaves and shift of a note that is being moved by keys. */
  pending = 0;
  dirty = false;
  /**
   * The scene before the last change that was made here, the revision that the change made, and whether it took one back: what an undo or a redo
   * leads to next. @type {{ scene: Scene, revision: number, undone: boolean } | null}
   */
  before = null;
  /** Whether the change on its way takes one back. */
  undoing = false;
  /** What a drag comes to that writes a note elsewhere. @type {Rewriting | null} */
  rewriting = null;

  /** @param {Scene} scene */
  constructor(scene) {
    this.s = surface.surfaceOf(scene);
    this.box = make("div", { class: "look" });
    this.canvas = make("canvas");
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "application");
    this.canvas.setAttribute("aria-roledescription", say("drawing"));
    this.says = make("p", { class: "look-says" });
    this.says.id = "look-says";
    this.does = make("div", { class: "look-does" });
    this.bar = make("div", { class: "look-bar" });
    this.bar.setAttribute("role", "group");
    this.bar.setAttribute("aria-label", say("How the drawing is looked at"));
    this.kind = make("select");
    this.kind.addEventListener("change", () => this.showKind(this.kind.value));
    const label = make("label", {}, `${say("Mark")} `);
    label.append(this.kind);
    this.inTheWay = button(say("Next in the way"), () => this.nextClash(1));
    this.bar.append(button(say("Closer"), () => this.zoom(1.6)), button(say("Farther"), () => this.zoom(1 / 1.6)), button(say("Whole turn"), () => this.showAll()),
      this.inTheWay, label, button(say("Keys"), () => this.toggleHelp()));
    this.help = make("div", { class: "look-help" });
    this.help.hidden = true;
    this.so = make("p", { class: "look-so" });
    this.so.hidden = true;
    this.box.append(this.bar, this.canvas, this.so, this.says, this.does, this.help);
    this.canvas.setAttribute("aria-describedby", "look-says");
    this.fillHelp();
    this.listenToHand();
    this.canvas.addEventListener("keydown", (e) => this.key(e));
    this.canvas.addEventListener("focus", () => this.redraw());
    this.canvas.addEventListener("blur", () => this.redraw());
    new ResizeObserver(() => this.fit()).observe(this.box);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.repaint());
    this.describe();
  }

  /**
   * Takes the place of the drawing that came with the page.
   * @param {HTMLElement} figure
   */
  takePlace(figure) {
    const plain = figure.querySelector(".roll");
    if (plain instanceof HTMLElement) plain.classList.add("plain-roll");
    figure.prepend(this.box);
    this.fit();
  }

  /** @param {Scene} scene  as it stands now */
  renew(scene) {
    const was = this.s.scene, revision = scene.deciding?.revision ?? 0;
    if (was.deciding && revision !== was.deciding.revision) this.before = revision === was.deciding.revision + 1 ? { scene: was, revision, undone: this.undoing } : null;
    this.undoing = false;
    this.s = surface.surfaceOf(scene);
    this.pending = 0;
    const c = this.chosen;
    this.rewriting = null;
    Object.assign(c, { pin: this.s.index.get(this.note) ?? -1, left: scene.left.findIndex((l) => l.note === this.note), drag: null, teeth: [], then: null, among: null });
    if (c.tooth >= this.s.tracks.length) c.tooth = -1;
    this.fillKinds();
    if (this.kind.value) this.showKind(this.kind.value);
    this.describe();
    this.fit();
  }

  // The window.

  comb() {
    return this.box.clientWidth < 560 ? 92 : 210;
  }

  fit() {
    const width = this.box.clientWidth;
    if (width === 0) return;
    const wide = width - this.comb();
    const { around, beyond, height } = this.s;
    const high = Math.round(Math.max(210, Math.min(620, window.innerHeight * 0.62, (wide / (around + beyond)) * height + 8)));
    const before = this.view;
    const all = surface.whole(this.s, wide, high);
    if (!before) this.view = surface.opening(this.s, wide, high);
    else this.view = before.scale > all.scale * 1.01 ? surface.within(this.s, { ...before, width: wide, height: high }) : all;
    const ratio = window.devicePixelRatio || 1;
    const full = high + upper + lower;
    if (this.canvas.width !== Math.round(width * ratio) || this.canvas.height !== Math.round(full * ratio)) {
      this.canvas.width = Math.round(width * ratio);
      this.canvas.height = Math.round(full * ratio);
      this.canvas.style.height = `${full}px`;
    }
    this.repaint();
  }

  repaint() {
    const to = this.canvas.getContext("2d", { alpha: true });
    if (!to) return;
    this.painter = new Painter(to, paletteOf(this.box), window.devicePixelRatio || 1);
    this.redraw();
  }

  redraw() {
    if (this.dirty) return;
    this.dirty = true;
    requestAnimationFrame(() => {
      this.dirty = false;
      this.paint();
    });
  }

  paint() {
    const { painter, view, s, chosen } = this;
    if (!painter || !view) return;
    const c = painter.to, ratio = painter.ratio;
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, this.canvas.width / ratio, this.canvas.height / ratio);
    const comb = this.comb();
    painter.surface(s, view, chosen, comb, upper);
    painter.comb(s, view, chosen, 0, upper, comb);
  }

  /** @param {number} factor @param {number} [x] @param {number} [y] */
  zoom(factor, x, y) {
    if (!this.view) return;
    const pin = this.chosen.pin;
    if (x !== undefined && y !== undefined) this.view = surface.nearer(this.s, this.view, factor, x, y);
    else if (pin >= 0) this.view = surface.about(this.s, this.view, factor, pin);
    else this.view = surface.nearer(this.s, this.view, factor, this.view.width / 2, this.view.height / 2);
    this.redraw();
  }

  showAll() {
    if (!this.view) return;
    this.view = surface.whole(this.s, this.view.width, this.view.height);
    this.redraw();
  }

  // Choosing.

  /**
   * @param {number} pin
   * @param {{ near?: boolean }} [how]
   */
  choose(pin, how = {}) {
    Object.assign(this.chosen, { pin, left: -1, tooth: -1, span: null, drag: null, teeth: [] });
    this.pending = 0;
    this.note = pin >= 0 ? this.s.scene.pins.note[pin] : "";
    if (pin >= 0 && this.view) this.view = surface.showing(this.s, this.view, pin, how.near ? 60 : 0);
    this.describe();
    this.redraw();
  }

  /** @param {number} left  index of a left-out note */
  chooseLeft(left) {
    Object.assign(this.chosen, { pin: -1, left, tooth: -1, span: null, drag: null, teeth: [] });
    this.note = this.s.scene.left[left].note;
    this.describe();
    this.redraw();
  }

  /** @param {number} tooth */
  chooseTooth(tooth) {
    Object.assign(this.chosen, { pin: -1, left: -1, tooth, span: null, drag: null, teeth: [] });
    this.note = "";
    this.describe();
    this.redraw();
  }

  /** @param {string} kind  "" for none, "way" for what stands in the way */
  showKind(kind) {
    if (kind === "") {
      this.chosen.among = null;
    } else {
      const among = new Set();
      for (const f of this.s.scene.findings) {
        if (kind === "way" ? !f.blocks : f.kind !== kind) continue;
        for (const note of f.notes) {
          const pin = this.s.index.get(note);
          if (pin !== undefined) among.add(pin);
        }
      }
      this.chosen.among = among;
    }
    this.redraw();
  }

  fillKinds() {
    const had = this.kind.value;
    const counts = new Map();
    let way = 0;
    for (const f of this.s.scene.findings) {
      counts.set(f.kind, (counts.get(f.kind) ?? 0) + 1);
      if (f.blocks) way++;
    }
    this.inTheWay.hidden = way === 0;
    const options = [["", say("every pin")]];
    if (way > 0) options.push(["way", say("what stands in the way ({1})", way)]);
    for (const [kind, n] of counts) options.push([kind, `${kinds[kind] ?? kind} (${n})`]);
    this.kind.replaceChildren(...options.map(([value, text]) => {
      const o = make("option", {}, text);
      o.value = value;
      return o;
    }));
    this.kind.value = options.some(([v]) => v === had) ? had : "";
  }

  /** @param {number} by */
  nextClash(by) {
    const all = this.s.scene.findings.filter((f) => f.blocks && f.notes.some((n) => this.s.index.has(n)));
    if (all.length === 0) {
      this.tell(say("Nothing stands in the way."));
      return;
    }
    this.clash = ((this.clash ?? (by > 0 ? -1 : 0)) + by + all.length) % all.length;
    const finding = all[this.clash];
    const note = /** @type {string} */ (finding.notes.find((n) => this.s.index.has(n)));
    this.choose(/** @type {number} */ (this.s.index.get(note)), { near: true });
    this.canvas.focus({ preventScroll: true });
  }

  // What is said, and what can be done.

  /** Says what is chosen, in the words of the list of pins. */
  describe() {
    const { scene } = this.s;
    const { pin, left, tooth, span } = this.chosen;
    this.does.replaceChildren();
    let text;
    if (pin >= 0) {
      const t = scene.teeth[scene.pins.tooth[pin] - 1];
      text = say("{1}, bar {2} beat {3}: tooth {4}, {5}, arc {6}; the tooth is free again after {7} ms.", t.note, scene.pins.bar[pin], scene.pins.beat[pin],
        scene.pins.tooth[pin], angle(scene.pins.deg[pin], 2), length(this.s.arc[pin], 2), t.repeatMs.toFixed(0));
      const octaves = scene.pins.octaves[pin];
      if (octaves !== 0) text += ` ${say("Moved by {1} octaves.", octaves > 0 ? `+${octaves}` : octaves)}`;
      if (scene.pins.shiftMs[pin] !== 0) text += ` ${say("Shifted by {1} ms.", scene.pins.shiftMs[pin])}`;
      if (this.s.locked[pin]) text += ` ${say("Held by your decision.")}`;
      for (const f of scene.findings) if (f.blocks && f.notes.includes(this.note)) text += ` ${f.text}`;
      this.offer();
    } else if (left >= 0) {
      const l = scene.left[left];
      text = say("{1}, bar {2} beat {3}, is left out. {4}", l.name, l.bar, l.beat, l.reason);
      this.offer();
    } else if (tooth > 0) {
      const t = scene.teeth[tooth - 1];
      text = say("Tooth {1}, {2}, {3} Hz: {4}. It is free again {5} ms after a pluck.", tooth, t.note, t.hz.toFixed(1), pinsInWords(this.s.byTooth[tooth].length), t.repeatMs.toFixed(0));
    } else if (span) {
      const [from, to] = span.map((arc) => (arc / this.s.around) * 360);
      const n = surface.firstFrom(this.s, span[1]) - surface.firstFrom(this.s, span[0]);
      text = say("From {1} to {2}: {3}.", angle(from, 1), angle(to, 1), pinsInWords(n));
    } else {
      const n = scene.pins.note.length;
      const tracks = scene.teeth.length === 1 ? say("one track") : say("{1} tracks", scene.teeth.length);
      const stand = n === 1 ? say("One pin on {1}.", tracks) : say("{1} pins on {2}.", n, tracks);
      text = n === 0 ? say("No pin stands yet.") : `${stand} ${scene.deciding ? say("Choose a pin to see its numbers and move it.") : say("Choose a pin to see its numbers.")}`;
    }
    this.says.textContent = text;
    this.canvas.setAttribute("aria-label", `${say("The cylinder of {1}, unrolled, with its comb.", scene.title)} ${pin >= 0 ? say("Pin {1} of {2}.", pin + 1, scene.pins.note.length) : ""}`);
  }

  /** Puts the buttons for the chosen note beside its words. */
  offer() {
    const { scene } = this.s;
    const { pin, left } = this.chosen;
    const items = [];
    const note = this.note;
    items.push(button(say("Hear it"), () => document.dispatchEvent(new CustomEvent("hear", { detail: { note } }))));
    if (scene.deciding) {
      if (pin >= 0) {
        const own = scene.teeth[scene.pins.tooth[pin] - 1];
        for (const tooth of surface.canGoTo(this.s, pin)) {
          if (tooth === scene.pins.tooth[pin]) continue;
          const t = scene.teeth[tooth - 1];
          const words = t.pitch === own.pitch ? say("Use the twin tooth, {1}", tooth) : say("Move to {1}, tooth {2}", t.note, tooth);
          items.push(button(words, () => this.decide({ kind: "place", note, tooth })));
        }
        items.push(button(say("Leave it out"), () => this.decide({ kind: "leave-out", note })));
        if (this.s.locked[pin]) items.push(button(say("Release it"), () => this.decide({ kind: "release", note })));
        else items.push(button(say("Hold it here"), () => this.decide({ kind: "place", note, tooth: scene.pins.tooth[pin] })));
      } else if (left >= 0) {
        items.push(button(say("Take it back in"), () => this.decide({ kind: "release", note })));
      }
    }
    if (scene.deciding) {
      const link = make("a", { class: "button" }, say("All about this note"));
      link.href = `#note-${note}`;
      items.push(link);
    }
    const finding = scene.findings.find((f) => f.anchor && f.notes[0] === note) ?? scene.findings.find((f) => f.anchor && f.notes.includes(note));
    if (finding && document.getElementById(finding.anchor)) {
      const link = make("a", { class: "button" }, say("What would mend it"));
      link.href = `#${finding.anchor}`;
      items.push(link);
    }
    this.does.replaceChildren(...items);
  }

  /** @param {string} text  said once, to everyone */
  tell(text) {
    announce(text);
    this.says.textContent = text;
  }

  /**
   * Sends a decision, and draws at once what is known of it; the answer brings the rest.
   * @param {object} decision
   */
  decide(decision) {
    if (!this.s.scene.deciding) return;
    if (document.dispatchEvent(new CustomEvent("decide", { detail: decision, cancelable: true }))) return; // another change is on its way
    if (this.chosen.drag) return; // drawn where it was let go
    this.chosen.then = surface.foreseen(this.s, decision);
    if (this.chosen.then) this.paint();
  }

  /**
   * Draws at once what undo or redo leads to, where it is the scene before the last change.
   * @param {boolean} undo
   */
  goBack(undo) {
    const { before, s } = this;
    this.undoing = undo;
    if (!before || before.revision !== s.scene.deciding?.revision || before.undone === undo) return;
    this.chosen.then = surface.changes(s, surface.surfaceOf(before.scene));
    this.paint();
  }

  // The hand.

  listenToHand() {
    const c = this.canvas;
    /** @type {Map<number, { x: number, y: number }>} */
    const fingers = new Map();
    /** @type {{ x: number, y: number, pin: number, moved: boolean, span: boolean } | null} */
    let grip = null;
    let apart = 0;
    const at = (/** @type {PointerEvent | WheelEvent} */ e) => {
      const r = c.getBoundingClientRect();
      return { x: e.clientX - r.left - this.comb(), y: e.clientY - r.top - upper };
    };
    c.addEventListener("pointerdown", (e) => {
      if (!this.view || e.button !== 0) return;
      const p = at(e);
      fingers.set(e.pointerId, p);
      if (fingers.size === 2) {
        grip = null;
        this.dropDrag();
        const [a, b] = [...fingers.values()];
        apart = Math.hypot(a.x - b.x, a.y - b.y);
        c.setPointerCapture(e.pointerId);
        return;
      }
      const met = surface.under(this.s, this.view, p.x, p.y, reach);
      grip = { ...p, pin: p.x >= 0 ? met.pin : -1, moved: false, span: e.shiftKey };
      c.setPointerCapture(e.pointerId);
    });
    c.addEventListener("pointermove", (e) => {
      if (!this.view || !fingers.has(e.pointerId)) return;
      const p = at(e), before = /** @type {{ x: number, y: number }} */ (fingers.get(e.pointerId));
      fingers.set(e.pointerId, p);
      if (fingers.size === 2) {
        const [a, b] = [...fingers.values()];
        const now = Math.hypot(a.x - b.x, a.y - b.y);
        if (apart > 0 && now > 0) this.view = surface.nearer(this.s, this.view, now / apart, (a.x + b.x) / 2, (a.y + b.y) / 2);
        this.view = surface.moved(this.s, this.view, (p.x - before.x) / 2, (p.y - before.y) / 2);
        apart = now;
        this.redraw();
        return;
      }
      if (!grip) return;
      if (!grip.moved && Math.hypot(p.x - grip.x, p.y - grip.y) < slack) return;
      grip.moved = true;
      if (grip.span) {
        const arcs = [grip.x, p.x].map((x) => /** @type {View} */ (this.view).left + x / /** @type {View} */ (this.view).scale).sort((a, b) => a - b);
        Object.assign(this.chosen, { pin: -1, left: -1, tooth: -1, span: [Math.max(0, arcs[0]), Math.min(this.s.around, arcs[1])] });
        this.describe();
      } else if (grip.pin >= 0 && this.s.scene.deciding && e.pointerType !== "touch") {
        const by = (p.x - grip.x) / this.view.scale, down = this.view.top + p.y / this.view.scale;
        if (!this.dragWritten(grip.pin, by, down)) this.dragTo(grip.pin, by, down);
        return;
      } else {
        this.view = surface.moved(this.s, this.view, p.x - before.x, p.y - before.y);
      }
      this.redraw();
    });
    const up = (/** @type {PointerEvent} */ e) => {
      const alone = fingers.size === 1;
      fingers.delete(e.pointerId);
      if (!grip || !alone || !this.view) return;
      const was = grip;
      grip = null;
      if (e.type === "pointercancel") {
        this.dropDrag();
        return;
      }
      if (this.chosen.drag) {
        this.takeDrag();
        return;
      }
      if (was.moved) return;
      const met = surface.under(this.s, this.view, was.x, was.y, reach);
      if (was.x < 0) this.chooseTooth(met.tooth);
      else if (met.pin >= 0) this.choose(met.pin);
      else if (met.left >= 0) this.chooseLeft(met.left);
      else if (met.tooth > 0 && !offered("brass", { tooth: met.tooth, deg: this.degAt(was.x) })) this.chooseTooth(met.tooth);
    };
    c.addEventListener("pointerup", up);
    c.addEventListener("pointercancel", up);
    c.addEventListener("dblclick", (e) => {
      const r = c.getBoundingClientRect();
      this.zoom(2.5, e.clientX - r.left - this.comb(), e.clientY - r.top - upper);
    });
    c.addEventListener("wheel", (e) => {
      if (!this.view) return;
      const p = at(e);
      const steps = e.deltaMode === 1 ? 16 : 1;
      if (e.ctrlKey || e.metaKey || (document.activeElement === c && !e.shiftKey)) {
        e.preventDefault();
        this.zoom(Math.exp((-e.deltaY * steps) / 300), p.x, p.y);
      } else if (e.shiftKey || Math.abs(e.deltaX) > Math.abs(e.deltaY)) {
        e.preventDefault();
        this.view = surface.moved(this.s, this.view, -(e.deltaX || e.deltaY) * steps, 0);
        this.redraw();
      }
    }, { passive: false });
  }

  /**
   * Shows a pin where a hand holds it: along its track within the tolerance, or on the track of another tooth that its note can go to.
   * @param {number} pin
   * @param {number} by  mm of arc
   * @param {number} down  mm, where the hand is
   */
  dragTo(pin, by, down) {
    if (this.chosen.pin !== pin) this.choose(pin);
    this.rewriting = null;
    const own = this.s.scene.pins.tooth[pin];
    const teeth = surface.canGoTo(this.s, pin);
    const over = surface.toothAt(this.s, down);
    const tooth = teeth.includes(over) ? over : own;
    const to = tooth === own ? surface.shifted(this.s, pin, by, own) : surface.shifted(this.s, pin, 0, tooth);
    this.chosen.teeth = teeth;
    this.chosen.drag = { pin, by: to.by, tooth, bad: to.tooNear >= 0 };
    const t = this.s.scene.teeth[tooth - 1], note = this.s.scene.teeth[own - 1].note;
    const where = tooth === own ? say("{1} ms of at most {2}", to.ms > 0 ? `+${to.ms}` : to.ms, this.s.scene.shiftMs) : say("on {1}, tooth {2}", t.note, tooth);
    this.says.textContent = to.tooNear < 0 ? say("{1} {2}: there is room.", note, where)
      : say("{1} {2}: too near, {3} ms; the tooth needs {4} ms.", note, where, to.apartMs.toFixed(0), to.needMs.toFixed(0));
    this.redraw();
  }

  /**
   * Asks whether the pin's note is to be written elsewhere on its track rather than shifted, and shows it there.
   * @param {number} pin
   * @param {number} by  mm of arc
   * @param {number} down  mm, where the hand is
   * @returns {boolean} false where it is not
   */
  dragWritten(pin, by, down) {
    const { pins, shiftMs, turnMs } = this.s.scene;
    const own = pins.tooth[pin], over = surface.toothAt(this.s, down);
    if (over !== own && surface.canGoTo(this.s, pin).includes(over)) return false;
    const from = pins.deg[pin] - (pins.shiftMs[pin] / turnMs) * 360;
    /** @type {Parameters<typeof offered>[1]} */
    const detail = { note: pins.note[pin], deg: from + (by / this.s.around) * 360, place: { bar: pins.bar[pin], beat: pins.beat[pin] } };
    const to = offered("rewrite", detail) && detail.answer;
    if (!to) return false;
    if (this.chosen.pin !== pin) this.choose(pin);
    this.rewriting = to;
    this.chosen.teeth = [];
    this.chosen.drag = { pin, by: ((to.deg - from) / 360) * this.s.around, tooth: own, bad: false };
    this.says.textContent = to.words;
    this.redraw();
    return true;
  }

  /** @param {number} x  px @returns {number} degrees from the datum line, 0 to 360 */
  degAt(x) {
    const view = /** @type {View} */ (this.view);
    const turns = (view.left + x / view.scale) / this.s.around;
    return 360 * (turns - Math.floor(turns));
  }

  dropDrag() {
    this.rewriting = null;
    this.chosen.drag = null;
    this.chosen.teeth = [];
    this.pending = 0;
    this.redraw();
  }

  takeDrag() {
    const drag = this.chosen.drag;
    if (!drag) return;
    const { pins } = this.s.scene;
    const note = pins.note[drag.pin];
    if (this.rewriting) {
      if (this.rewriting.decision) this.decide(this.rewriting.decision);
      else this.dropDrag();
    } else if (drag.tooth !== pins.tooth[drag.pin]) {
      this.decide({ kind: "place", note, tooth: drag.tooth });
    } else {
      const { ms } = surface.shifted(this.s, drag.pin, drag.by, drag.tooth);
      if (ms !== pins.shiftMs[drag.pin]) this.decide({ kind: "shift", note, ms });
    }
    this.chosen.teeth = [];
    this.redraw();
  }

  // Keys.

  /** @param {KeyboardEvent} e */
  key(e) {
    if (e.ctrlKey || e.metaKey) return;
    const { pin } = this.chosen;
    const deciding = this.s.scene.deciding !== null;
    const arrows = { ArrowRight: "later", ArrowLeft: "earlier", ArrowUp: "up", ArrowDown: "down" };
    const way = /** @type {"later" | "earlier" | "up" | "down" | undefined} */ (arrows[/** @type {keyof typeof arrows} */ (e.key)]);
    let met = true;
    if (way && e.shiftKey && deciding && pin >= 0) {
      if (way === "later" || way === "earlier") this.nudge(way === "later" ? 1 : -1);
      else this.octave(way === "up" ? 1 : -1);
    } else if (way && e.altKey) {
      this.pan(way);
    } else if (way) {
      this.choose(surface.step(this.s, pin, way));
      const t = this.chosen.pin;
      if (t >= 0) this.tell(this.says.textContent ?? "");
      this.describe();
    } else if (e.key === "+" || e.key === "=") this.zoom(1.6);
    else if (e.key === "-") this.zoom(1 / 1.6);
    else if (e.key === "0") this.showAll();
    else if (e.key === "c") this.nextClash(1);
    else if (e.key === "C") this.nextClash(-1);
    else if (e.key === "Enter" && this.chosen.drag) this.takeDrag();
    else if (e.key === "Enter" && this.note) this.follow();
    else if (e.key === "Escape" && this.chosen.drag) {
      this.dropDrag();
      this.describe();
    } else if (e.key === "Escape") this.choose(-1);
    else if ((e.key === "Delete" || e.key === "Backspace") && pin >= 0 && deciding) this.decide({ kind: "leave-out", note: this.note });
    else if (e.key === "h" && pin >= 0 && deciding) {
      this.decide(this.s.locked[pin] ? { kind: "release", note: this.note } : { kind: "place", note: this.note, tooth: this.s.scene.pins.tooth[pin] });
    } else if (e.key === "s" && this.note) document.dispatchEvent(new CustomEvent("hear", { detail: { note: this.note } }));
    else if (e.key === "?") this.toggleHelp();
    else met = false;
    if (met) {
      e.preventDefault();
      e.stopPropagation();
    }
  }

  /** @param {"later" | "earlier" | "up" | "down"} way */
  pan(way) {
    if (!this.view) return;
    const by = { later: [-80, 0], earlier: [80, 0], up: [0, 80], down: [0, -80] }[way];
    this.view = surface.moved(this.s, this.view, by[0], by[1]);
    this.redraw();
  }

  /** @param {number} by  ms, held until Enter takes it */
  nudge(by) {
    const { pin } = this.chosen;
    this.pending = Math.max(-2 * this.s.scene.shiftMs, Math.min(2 * this.s.scene.shiftMs, this.pending + by));
    this.dragTo(pin, (this.pending / this.s.scene.turnMs) * this.s.around, this.s.down[pin]);
    this.tell(say("{1} Enter takes it, Escape leaves it.", this.says.textContent ?? ""));
  }

  /** @param {number} by */
  octave(by) {
    const { pin } = this.chosen;
    const { teeth, pins } = this.s.scene;
    const own = teeth[pins.tooth[pin] - 1].pitch;
    const to = surface.canGoTo(this.s, pin).find((t) => teeth[t - 1].pitch === own + 12 * by);
    if (to) this.decide({ kind: "place", note: this.note, tooth: to });
    else if (by > 0) this.tell(say("The comb has no tooth an octave above {1} that this note can go to.", teeth[pins.tooth[pin] - 1].note));
    else this.tell(say("The comb has no tooth an octave below {1} that this note can go to.", teeth[pins.tooth[pin] - 1].note));
  }

  /** Goes to what the page says of the chosen note. */
  follow() {
    if (this.s.scene.deciding) location.hash = `note-${this.note}`;
  }

  toggleHelp() {
    const held = this.help.contains(document.activeElement);
    this.help.hidden = !this.help.hidden;
    if (!this.help.hidden) this.help.focus();
    else if (held) this.canvas.focus({ preventScroll: true });
  }

  fillHelp() {
    this.help.tabIndex = -1;
    this.help.addEventListener("keydown", (e) => {
      if (e.key !== "Escape" && e.key !== "?") return;
      e.stopPropagation();
      this.toggleHelp();
    });
    const { deciding } = this.s.scene;
    /** @type {[string, string][]} */
    const keys = [
      ["←  →", say("the pin before, the next pin")], ["↑  ↓", say("the nearest pin on the track above, below")], ["+  −  0", say("closer, farther, the whole turn")],
      [say("Alt and arrows"), say("move the window")], [say("c  Shift c"), say("the next, the one before of what stands in the way")],
      ["s", deciding ? say("hear the chosen note; on a remedy, a turn of what it would do") : say("hear the chosen note")],
    ];
    if (deciding) {
      keys.push([say("Shift ←  →"), say("shift the pin by a millisecond; Enter takes it, Escape leaves it")], [say("Shift ↑  ↓"), say("move the note by an octave")],
        [say("Delete"), say("leave the note out")], ["h", say("hold the pin where it is, or release it")], [say("Enter"), say("all about the note")]);
    }
    keys.push([say("Escape"), say("choose nothing")]);
    const list = make("dl");
    for (const [key, words] of keys) {
      const row = make("div"), dt = make("dt"), dd = make("dd", {}, words);
      dt.append(make("kbd", {}, key));
      row.append(dt, dd);
      list.append(row);
    }
    const byHand = deciding
      ? say("With the drawing in focus. By hand: drag a pin along its track or to a twin or an octave, drag the brass to move the window, Shift and drag for a span; Ctrl and the wheel, or two fingers, for closer.")
      : say("With the drawing in focus. By hand: drag the brass to move the window, Shift and drag for a span; Ctrl and the wheel, or two fingers, for closer.");
    this.help.append(make("p", {}, byHand), list);
  }
}

/** @type {Roll | null} */
let roll = null;

/** Puts the drawing in its place, at first and each time the page is drawn anew. */
function place() {
  const figure = document.getElementById("drawing");
  const scene = sceneIn(document);
  if (!figure || !scene) return;
  if (!roll) {
    roll = new Roll(scene);
    roll.fillKinds();
  } else {
    roll.renew(scene);
  }
  roll.takePlace(figure);
}

document.addEventListener("redrawn", place);
// Of a change that was refused nothing else takes back what was drawn ahead of the answer.
document.addEventListener("decided", () => {
  if (roll?.so.hidden) roll.chosen.then = null;
  roll?.dropDrag();
});
document.addEventListener("sounding", (e) => {
  if (!roll || !(e instanceof CustomEvent)) return;
  roll.chosen.at = e.detail === null ? null : (e.detail.deg / 360) * roll.s.around;
  roll.redraw();
});

document.addEventListener("going-back", (e) => {
  if (e instanceof CustomEvent) roll?.goBack(e.detail.undo);
});

/** How long a remedy must be looked at before what it would do is asked for. */
const lookedAtMs = 180;

/** @type {{ timer: number, asked: AbortController | null }} */
const looking = { timer: 0, asked: null };

/**
 * Shows what the remedy under a hand or in focus would do, while it is there.
 * @param {EventTarget | null} target
 */
function consider(target) {
  if (target instanceof Element && target.closest(".look-so")) return;
  const of = target instanceof Element ? target.closest("button[name='decision']") : null;
  window.clearTimeout(looking.timer);
  looking.asked?.abort();
  looking.asked = null;
  if (!(of instanceof HTMLButtonElement) || !of.closest(".remedies, .mend") || !roll?.s.scene.deciding) {
    if (roll?.chosen.then) preview(null);
    return;
  }
  const url = roll.s.scene.deciding.url.replace(/decide$/, "try");
  looking.timer = window.setTimeout(async () => {
    const asked = (looking.asked = new AbortController());
    try {
      const response = await fetch(url, { method: "POST", body: new URLSearchParams({ decision: of.value }), signal: asked.signal, credentials: "same-origin" });
      if (!response.ok) return; // the remedy's own words say what it does
      const then = /** @type {Scene} */ (await response.json());
      if (asked.signal.aborted || !of.isConnected) return;
      preview(then, of.textContent ?? "");
    } catch {
      // it was left before the answer came, or none came
    }
  }, lookedAtMs);
}

for (const kind of ["pointerover", "focusin"]) document.addEventListener(kind, (e) => consider(e.target));
document.addEventListener("redrawn", () => {
  looking.asked?.abort();
  window.clearTimeout(looking.timer);
  preview(null);
});
// A remedy in focus is heard by its key.
document.addEventListener("keydown", (e) => {
  const on = e.target instanceof Element && e.target.matches(".remedies button, .mend button");
  const hear = roll?.so.querySelector("button");
  if (e.key === "s" && on && hear && !roll?.so.hidden) {
    e.preventDefault();
    hear.click();
  }
});

/**
 * Shows in the drawing what a decision would change, or nothing more.
 * @param {Scene | null} then  the scene that would be
 * @param {string} [label]  of the remedy
 */
function preview(then, label = "") {
  if (!roll) return;
  if (!then) {
    roll.chosen.then = null;
    roll.so.hidden = true;
  } else {
    const { gone, come } = (roll.chosen.then = surface.changes(roll.s, surface.surfaceOf(then)));
    roll.so.replaceChildren(`${say("Drawn is what “{1}” would do: {2} struck out, {3} set.", label, pinsInWords(gone.size), pinsInWords(come.length))} `,
      button(say("Hear a turn of it"), () => document.dispatchEvent(new CustomEvent("hear-turn", { detail: { scene: then } }))));
    roll.so.hidden = false;
  }
  roll.redraw();
}
