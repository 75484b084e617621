/**
 * The section of the page in which the cylinder is put beside another comb: typed in, or that of another project of this browser.
 *
 * @import { Scene } from "./scene.js"
 */
import { differences, inWords, onComb, readComb } from "./othercomb.js";
import { Painter, paletteOf } from "./paint.js";
import { browserStore, recent } from "./recent.js";
import { say } from "./say.js";
import { sceneIn } from "./scene.js";
import { surfaceOf, whole } from "./surface.js";

/** What was typed, which outlives a redrawing of the page. @type {string | null} */
let typed = null;

/** @param {string} id */
const element = (id) => document.getElementById(id);

function place() {
  const section = element("other-comb");
  const scene = sceneIn(document);
  const notes = element("other-notes");
  if (!section || !scene || !(notes instanceof HTMLTextAreaElement)) return;
  section.hidden = false;
  if (typed !== null) notes.value = typed;
  offerProjects(notes);
  for (const b of section.querySelectorAll("button[data-other]")) {
    if (b instanceof HTMLElement) b.onclick = () => hear(b.dataset.other === "there");
  }
  notes.oninput = () => {
    typed = notes.value;
    show();
  };
  show();
}

/**
 * Lists the other projects of this browser; choosing one takes its comb.
 * @param {HTMLTextAreaElement} notes
 */
function offerProjects(notes) {
  const select = element("other-project");
  if (!(select instanceof HTMLSelectElement)) return;
  const others = recent(browserStore()).filter((r) => r.url !== location.pathname);
  const label = select.closest("label");
  if (label instanceof HTMLElement) label.hidden = others.length === 0;
  const first = new Option(say("choose one of your projects"), "");
  select.replaceChildren(first, ...others.map((r) => new Option(r.title, r.url)));
  select.onchange = async () => {
    if (!select.value) return;
    try {
      const answer = await fetch(`/api/projects/${select.value.split("/").at(-1)}`, { credentials: "same-origin" });
      const project = answer.ok ? await answer.json() : null;
      if (!project) throw new Error(String(answer.status));
      notes.value = typed = project.comb.teeth.map((/** @type {{ note: string }} */ t) => t.note).join(" ");
      show();
    } catch {
      report(say("The comb of that project could not be fetched. Open the project, copy its notes and type them here."));
    }
  };
}

/** @param {string} text */
function report(text) {
  const says = element("other-says");
  if (says) says.textContent = text;
}

/** @returns {{ scene: Scene, pitches: number[] } | null} */
function asked() {
  const scene = sceneIn(document);
  const notes = element("other-notes");
  if (!scene || !(notes instanceof HTMLTextAreaElement)) return null;
  const { pitches, wrong } = readComb(notes.value);
  if (wrong.length > 0) {
    report(say("{1}: not the name of a note. Write names such as C5, F#5 or Bb4.", wrong.slice(0, 3).join(", ")));
    return null;
  }
  if (pitches.length === 0) {
    report(say("Write the notes of the other comb, or choose a project."));
    return null;
  }
  return { scene, pitches };
}

function show() {
  const list = element("other-list"), pictures = element("other-pictures");
  if (!list || !pictures) return;
  const both = asked();
  pictures.hidden = list.hidden = both === null;
  for (const b of document.querySelectorAll("button[data-other]")) if (b instanceof HTMLButtonElement) b.disabled = both === null;
  if (!both) return;
  const { scene, pitches } = both;
  const found = differences(scene, pitches);
  const pins = found.reduce((n, d) => n + d.pins, 0);
  const spare = pitches.length - scene.teeth.length;
  const more = spare > 0 ? ` ${say("{1} of its teeth meet no track.", spare)}` : "";
  const sounds = found.length === 0 ? say("On this comb the cylinder sounds as it does on its own.")
    : say("{1} of {2} tracks sound something else: {3} of {4} pins.", found.length, scene.teeth.length, pins, scene.pins.note.length);
  report(sounds + more);
  list.replaceChildren(...found.map((d) => {
    const item = document.createElement("li");
    item.textContent = say("Tooth {1}: {2}.", d.tooth, inWords(d));
    return item;
  }));
  draw(scene, pitches, new Set(found.map((d) => d.tooth)));
}

/**
 * Draws both combs, the cylinder's own at the left, with a notch at each tooth that differs.
 * @param {Scene} scene
 * @param {number[]} pitches
 * @param {Set<number>} differs
 */
function draw(scene, pitches, differs) {
  const pictures = /** @type {HTMLElement} */ (element("other-pictures"));
  const canvases = [...pictures.querySelectorAll("canvas")];
  const scenes = [scene, { ...onComb(scene, pitches) }];
  canvases.forEach((canvas, i) => {
    const width = canvas.clientWidth, height = Math.min(420, Math.max(120, 22 * scene.teeth.length));
    const ratio = window.devicePixelRatio || 1;
    canvas.width = width * ratio;
    canvas.height = height * ratio;
    canvas.style.height = `${height}px`;
    const to = canvas.getContext("2d");
    if (!to || width === 0) return;
    to.scale(ratio, ratio);
    const s = surfaceOf(scenes[i]);
    const v = whole({ ...s, around: 1e-6, beyond: 0 }, width, height);
    const painter = new Painter(to, paletteOf(pictures), ratio);
    painter.comb(s, { ...v, left: 0, top: v.top }, { pin: -1, left: -1, tooth: -1, among: null, span: null, drag: null, teeth: [], then: null, at: null }, 0, 0, width - 16);
    to.fillStyle = painter.palette.redlead;
    for (const tooth of differs) {
      if (tooth >= s.tracks.length) continue;
      const y = (s.tracks[tooth] - v.top) * v.scale;
      to.beginPath();
      to.moveTo(width - 2, y - 6);
      to.lineTo(width - 12, y);
      to.lineTo(width - 2, y + 6);
      to.fill();
    }
  });
}

/** @param {boolean} there  on the other comb; else on its own */
function hear(there) {
  const both = asked();
  if (!both) return;
  document.dispatchEvent(new CustomEvent("hear-turn", { detail: { scene: there ? onComb(both.scene, both.pitches) : both.scene } }));
}

document.addEventListener("redrawn", place);
window.addEventListener("resize", () => show());
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => show());
