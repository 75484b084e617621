import { announce } from "./dom.js";
import { listen, unheard } from "./player.js";
import { say } from "./say.js";
import { sceneIn } from "./scene.js";
import { PACES } from "./voice.js";

/** More notes than this have no button of their own. */
const MOST_NOTES = 200;

/** @type {import("./player.js").Player | null} */
let player = null;

/**
 * The player of this page, for whatever else follows the turning or plucks a note.
 * @returns {import("./player.js").Player | null} null where there is nothing to play, or no sound
 */
export function pagePlayer() {
  const scene = player || unheard() ? null : sceneIn(document);
  if (scene) {
    player = listen(scene);
    player.addEventListener("turning", showAngle);
    player.addEventListener("change", showState);
  }
  return player;
}

/** What has to be done each time the page is drawn: the controls are new, what they were set to is not. */
document.addEventListener("redrawn", () => {
  const why = unheard();
  if (why) {
    put("listen-why", why);
    return;
  }
  const scene = sceneIn(document);
  if (!scene || !element("listen-controls")) return;
  const had = player;
  const now = pagePlayer();
  if (!now) return;
  if (had) now.replace(scene);

  const speed = input("listen-speed");
  speed.max = String(PACES.length - 1);
  listTeeth(now);
  listLeft(now);
  showState();
  for (const id of ["listen-why", "listen-file"]) hide(id, true);
  hide("listen-controls", false);
  for (const button of document.querySelectorAll("[data-hear]")) if (button instanceof HTMLElement) button.hidden = false;
});

// A note that is to be heard alone, and a turn of another scene: a comb that is tried, or what a remedy would do.
document.addEventListener("hear", (event) => {
  if (event instanceof CustomEvent) pagePlayer()?.hear(event.detail.note).catch(trouble);
});
document.addEventListener("hear-turn", (event) => {
  const now = pagePlayer();
  if (!now || !(event instanceof CustomEvent)) return;
  now.stop();
  now.replace(event.detail.scene);
  play(true);
});

document.addEventListener("click", (event) => {
  const button = event.target instanceof Element ? event.target.closest("button") : null;
  if (!button || !player) return;
  if (button.id === "listen-once") play(true);
  else if (button.id === "listen-on") play(false);
  else if (button.id === "listen-stop") stop();
  else if (button.dataset.hear !== undefined) player.hear(button.dataset.hear).catch(trouble);
});

document.addEventListener("input", (event) => {
  const control = event.target;
  if (!(control instanceof HTMLInputElement) || !player) return;
  if (control.id === "listen-speed") player.setSpeed(PACES[control.valueAsNumber].speed);
  else if (control.name === "listen-as") player.setWritten(control.value === "written");
  else if (control.name === "listen-tooth") player.setTeeth([...boxes()].filter((b) => b.checked).map((b) => Number(b.value)));
});

document.addEventListener("keydown", (event) => {
  if (event.key !== " " || event.repeat || event.defaultPrevented || event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
  if (event.target instanceof Element && event.target.closest("a, button, input, select, textarea, summary, [contenteditable], [tabindex='0']")) return;
  if (!player || !element("listen-controls")) return;
  event.preventDefault();
  if (player.playing) stop();
  else play(once);
});

/** What was played last: space plays it again. */
let once = true;

/** @param {boolean} oneTurn */
function play(oneTurn) {
  once = oneTurn;
  put("listen-trouble", "");
  player?.play({ once }).then(() => announce(once ? say("Playing one turn.") : say("Turning.")), trouble);
}

function stop() {
  player?.stop();
  announce(say("Stopped at {1}.", angle()));
}

function trouble() {
  put("listen-trouble", say("The browser gave no sound. Check that a loudspeaker is there and that this page may play, then press again."));
  hide("listen-file", false);
}

function angle() {
  return `${Math.floor(player?.deg ?? 0)}°`;
}

function showAngle() {
  document.dispatchEvent(new CustomEvent("sounding", { detail: player?.playing ? { deg: player.deg, speed: player.speed } : null }));
  const at = say("at {1}", angle());
  if (element("listen-at")?.textContent !== at) put("listen-at", at);
}

function showState() {
  if (!player || !element("listen-controls")) return;
  const i = PACES.reduce((best, p, at) => (Math.abs(p.speed - (player?.speed ?? 1)) < Math.abs(PACES[best].speed - (player?.speed ?? 1)) ? at : best), 0);
  const speed = input("listen-speed");
  const pace = say("{1}, one turn in {2} s", PACES[i].words, (player.scene.turnMs / 1000 / player.speed).toFixed(1));
  speed.value = String(i);
  speed.setAttribute("aria-valuetext", pace);
  put("listen-pace", pace);
  input(player.written ? "listen-written" : "listen-arranged").checked = true;
  for (const box of boxes()) box.checked = player.teeth?.has(Number(box.value)) ?? false;
  put("listen-chosen", player.teeth ? say(": {1} of {2}", player.teeth.size, player.scene.teeth.length) : "");
  element("listen-once")?.setAttribute("aria-pressed", String(player.once));
  element("listen-on")?.setAttribute("aria-pressed", String(player.playing && !player.once));
  showAngle();
}

/** @param {import("./player.js").Player} player */
function listTeeth({ scene }) {
  const labels = scene.teeth.map((tooth, i) => {
    const box = document.createElement("input");
    box.type = "checkbox";
    box.name = "listen-tooth";
    box.id = `listen-tooth-${i + 1}`;
    box.value = String(i + 1);
    const label = document.createElement("label");
    label.append(box, ` ${i + 1} · ${tooth.note}`);
    return label;
  });
  element("listen-comb")?.replaceChildren(...labels);
}

/** @param {import("./player.js").Player} player */
function listLeft({ scene }) {
  const buttons = scene.left.slice(0, MOST_NOTES).map((left) => {
    const button = document.createElement("button");
    button.type = "button";
    button.id = `listen-note-${left.note}`;
    button.dataset.hear = left.note;
    button.textContent = say("{1}, bar {2}, beat {3}", left.name, left.bar, Number(left.beat.toFixed(2)));
    return button;
  });
  const more = scene.left.length - buttons.length;
  element("listen-notes")?.replaceChildren(...buttons);
  put("listen-more", more > 0 ? say("{1} more have no button here.", more) : "");
  hide("listen-left", scene.left.length === 0);
}

/** @returns {NodeListOf<HTMLInputElement>} */
function boxes() {
  return document.querySelectorAll("input[name='listen-tooth']");
}

/** @param {string} id */
function element(id) {
  return document.getElementById(id);
}

/** @param {string} id */
function input(id) {
  return /** @type {HTMLInputElement} */ (document.getElementById(id));
}

/**
 * @param {string} id
 * @param {string} text
 */
function put(id, text) {
  const at = element(id);
  if (at) at.textContent = text;
}

/**
 * @param {string} id
 * @param {boolean} hidden
 */
function hide(id, hidden) {
  const at = element(id);
  if (at) at.hidden = hidden;
}
