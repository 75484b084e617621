import { EndView } from "./endview.js";
import { FrontView } from "./frontview.js";
import { arborDeg, arborNames, contacts, happening, motionOf, roundCircle, slownessInWords, slownessOf, stateInWords, toothAt, toothName } from "./motion.js";
import { make } from "./dom.js";
import { coloursAt } from "./metal.js";
import { say } from "./say.js";
import { releaseMs, sceneIn } from "./scene.js";
import { angle, length } from "./shown.js";
import { TrainView } from "./trainview.js";

/** Figures are renewed so often while it turns; they could not be read any faster. */
const FIGURES_MS = 100;
/** Sound that says nothing for so long has stopped. */
const QUIET_MS = 250;
/** Frames that stay away longer than this, as in a tab behind others, do not make the cylinder jump. */
const LONGEST_FRAME_MS = 100;

/** Where the reader is; a page drawn anew goes on there. */
const at = { turned: 0, tooth: 0, part: 0.55, turning: false };
const still = window.matchMedia("(prefers-reduced-motion: reduce)");
const dark = window.matchMedia("(prefers-color-scheme: dark)");

/** @type {{ section: HTMLElement, close: () => void, follow: (deg: number, speed: number) => void } | null} */
let shown = null;

/** Fills the section of the page, once. */
function show() {
  const section = document.getElementById("turning");
  if (shown && shown.section === section) return;
  shown?.close();
  shown = null;
  const scene = section && sceneIn(document);
  if (!section || !scene) return;
  if (scene.teeth.length > 0) shown = fill(section, scene);
  else for (const words of section.querySelectorAll("p")) words.textContent = say("The comb has no tooth yet, so there is nothing to lift.");
}

/**
 * @param {HTMLElement} section
 * @param {import("./scene.js").Scene} scene
 */
function fill(section, scene) {
  const motion = motionOf(scene);
  const stepped = still.matches;
  if (at.tooth < 1 || at.tooth > scene.teeth.length) {
    at.tooth = scene.pins.tooth[0] ?? 1;
    at.turned = roundCircle((scene.pins.deg[0] ?? 0) - motion.contactDeg / 3); // a pin has its tip well up: the first picture shows what it is about
  }
  const lift = length(scene.liftMm, 2);
  const intro = make("p", { class: "quiet" }, `${say("A pin meets the tip of its tooth, carries it up {1} while the cylinder turns {2}, and lets it go: that is when it sounds.", lift, angle(motion.contactDeg, 2))} `,
    stepped ? `${say("This device asks for little motion: the picture stands, also while it sounds, and is stepped by the buttons.")} ` : "",
    make("span", { class: "turning-keys" }, stepped ? say("With the pictures in focus, arrow keys step it.") : say("With the pictures in focus, arrow keys step it, and the space bar turns and holds it.")));

  const turn = make("button", { type: "button", id: "turning-turn", class: "strong" }, say("Turn"));
  /** @param {string} id @param {string} words @param {() => void} act */
  const stepper = (id, words, act) => {
    const button = make("button", { type: "button", id: `turning-${id}` }, words);
    button.addEventListener("click", act);
    return button;
  };
  const steps = make("div", { class: "turning-steps", role: "group", "aria-label": say("Step the cylinder") },
    stepper("degree-back", say("← 1° back"), () => byDegree(-1)), stepper("degree-on", say("1° on →"), () => byDegree(1)),
    stepper("pin-back", say("↓ pin back"), () => byPin(-1)), stepper("pin-on", say("pin on ↑"), () => byPin(1)));
  const select = make("select", { id: "turning-tooth" });
  scene.teeth.forEach((_, i) => select.append(new Option(toothName(scene, i + 1), String(i + 1))));
  select.value = String(at.tooth);
  const speed = make("input", { type: "range", id: "turning-speed", min: "0", max: "100", step: "1", value: String(Math.round(100 * at.part)) });
  const slowness = make("output", { for: "turning-speed" });
  const controls = make("div", { class: "turning-controls" }, ...(stepped ? [] : [turn]), steps,
    make("label", { class: "turning-field" }, `${say("Tooth")} `, select),
    ...(stepped ? [] : [make("label", { class: "turning-field" }, `${say("Speed")} `, speed, slowness)]));

  const [endCanvas, frontCanvas, trainCanvas] = ["end", "front", "train"].map((id) => make("canvas", { id: `turning-${id}`, role: "img" }));
  const bassLeft = scene.bassBottom === scene.turnsUp; // as seen from the comb; with the comb to the left that end is the far one
  const from = bassLeft ? say("From the treble end, to scale, the vibration too.") : say("From the bass end, to scale, the vibration too.");
  const numbers = make("dl", { class: "numbers turning-numbers" });
  /** @type {Record<string, HTMLElement>} */
  const figures = {};
  for (const [key, name] of [["angle", say("angle")], ["time", say("time")], ["tooth", say("tooth")], ["lift", say("lift")], ["swing", say("vibration")], ["state", say("state")], ["held", say("held up")]]) {
    figures[key] = make("dd", { id: `turning-is-${key}` });
    numbers.append(make("div", {}, make("dt", {}, name), figures[key]));
  }
  const keys = stepped ? say("Cylinder and comb. Left and right turn it a degree, up and down to the tooth's next contact or release")
    : say("Cylinder and comb. Left and right turn it a degree, up and down to the tooth's next contact or release, space turns and holds it");
  const pictures = make("div", { class: "turning-pictures", tabindex: "0", role: "group", "aria-label": keys },
    make("figure", {}, endCanvas, make("figcaption", { class: "quiet" }, `${from} ${say("Behind the tooth's own pins, fainter, those of the other tracks. Length, thickness and damper of the tooth are a sketch.")}`)),
    make("figure", {}, frontCanvas, make("figcaption", { class: "quiet" }, say("The surface passes under the comb. A tooth that is held up has a light edge, a mark and a longer shadow; one that rings is drawn at both ends of its swing."))),
    numbers);
  const train = make("table", {},
    make("thead", {}, make("tr", {}, ...[[say("no."), ""], [say("arbor"), ""], [say("rev/min"), "n"], [say("now at"), "n"]].map(([text, name]) => make("th", { scope: "col", ...(name && { class: name }) }, text)))));
  const rows = make("tbody");
  const arborAt = arborNames(scene).map((name, i) => {
    const now = make("td", { class: "n" });
    rows.append(make("tr", {}, make("td", {}, String(i + 1)), make("th", { scope: "row" }, name), make("td", { class: "n" }, scene.rpm[i].toFixed(3)), now));
    return now;
  });
  train.append(rows);
  const wheels = make("div", { class: "turning-train" },
    make("figure", {}, trainCanvas, make("figcaption", { class: "quiet" }, say("The train, with the speeds of the drive; sizes and teeth of the wheels are a sketch. The broken ring marks the cylinder's arbor. What turns too fast to be seen is a blur."))),
    make("div", { class: "scroll", tabindex: "0", role: "group", "aria-label": say("Arbors of the train; scrolls") }, train));
  const said = make("p", { class: "visually-hidden", role: "status" });
  const head = section.querySelector("h2");
  section.replaceChildren(...(head ? [head] : []), intro, controls, pictures, wheels, said);

  let { end, front, wheelwork } = paintings();
  let slow = slownessOf(at.part);
  let frame = 0;
  let last = 0;
  let figured = -Infinity;
  let seen = true;
  let following = 0;
  let laid = section.clientWidth; // the width for which the pictures are laid out

  /** The pictures, for the room there is. */
  function paintings() {
    const colours = coloursAt(section);
    /** @param {HTMLCanvasElement} canvas */
    const room = (canvas) => canvas.parentElement?.clientWidth ?? 0;
    return {
      end: new EndView(endCanvas, motion, at.tooth, room(endCanvas), colours),
      front: new FrontView(frontCanvas, motion, at.tooth, room(frontCanvas), colours),
      wheelwork: new TrainView(trainCanvas, motion, room(trainCanvas), colours),
    };
  }

  /** Lays the pictures out for the room there is. */
  function layOut() {
    if (section.clientWidth === 0) return; // not laid out, as where it is taken from the page
    laid = section.clientWidth;
    ({ end, front, wheelwork } = paintings());
    ask();
  }

  function moving() {
    return at.turning || following !== 0;
  }

  /** Asks for the next frame. */
  function ask() {
    if (frame === 0) frame = requestAnimationFrame(onFrame);
  }

  /** @param {number} now */
  function onFrame(now) {
    frame = 0;
    const passed = Math.min(LONGEST_FRAME_MS, Math.max(0, now - last));
    last = now;
    if (at.turning) at.turned += (passed / slow / scene.turnMs) * 360;
    if (seen) {
      /** @param {number} hz */
      const drawnHz = (hz) => (moving() ? hz / slow : 0);
      end.draw(at.turned, drawnHz(scene.teeth[at.tooth - 1].hz));
      front.draw(at.turned, drawnHz);
      wheelwork.draw(at.turned, moving() ? Math.max(passed, 16) / slow : 0);
      if (!moving() || now - figured > FIGURES_MS) {
        figured = now;
        tell();
      }
    }
    if (at.turning) ask();
  }

  /** Says in figures and words what the pictures show. */
  function tell() {
    const state = toothAt(motion, at.tooth, at.turned);
    const held = contacts(motion, at.turned);
    const deg = roundCircle(at.turned);
    const names = held.slice(0, 6).map((pin) => `${scene.teeth[scene.pins.tooth[pin] - 1].note} (${scene.pins.tooth[pin]})`);
    figures.angle.textContent = angle(deg, 2);
    figures.time.textContent = say("{1} s of {2}", (releaseMs(scene, deg) / 1000).toFixed(3), (scene.turnMs / 1000).toFixed(3));
    figures.tooth.textContent = toothName(scene, at.tooth);
    figures.lift.textContent = length(state.liftMm, 3);
    figures.swing.textContent = `± ${length(state.swingMm, 3)}, ${scene.teeth[at.tooth - 1].hz.toFixed(1)} Hz`;
    figures.state.textContent = stateInWords(state);
    const first = names.join(", ");
    figures.held.textContent = held.length === 0 ? say("none") : held.length > names.length ? say("{1} and {2} more", first, held.length - names.length) : first;
    const ms = (at.turned / 360) * scene.turnMs;
    scene.rpm.forEach((rpm, i) => (arborAt[i].textContent = angle(roundCircle(arborDeg(rpm, ms)), 0)));
    if (moving()) return;
    endCanvas.setAttribute("aria-label", say("The tooth from its side. {1}.", words()));
    frontCanvas.setAttribute("aria-label", say("The surface under the comb. Held up: {1}.", figures.held.textContent));
    trainCanvas.setAttribute("aria-label", say("The train: {1}.", arborNames(scene).map((name, i) => say("{1} {2} rev/min", name, scene.rpm[i].toFixed(3))).join(", ")));
  }

  function words() {
    const state = toothAt(motion, at.tooth, at.turned);
    return say("{1}, at {2}: {3}; lift {4}", toothName(scene, at.tooth), angle(roundCircle(at.turned), 2), stateInWords(state), length(state.liftMm, 3));
  }

  /** @param {boolean} turning */
  function setTurning(turning) {
    at.turning = turning && !stepped;
    turn.textContent = at.turning ? say("Hold") : say("Turn");
    last = performance.now();
    ask();
  }

  /** @param {number} by  degrees */
  function step(by) {
    setTurning(false);
    at.turned += by;
    tell();
    said.textContent = words();
  }

  /** On to the next whole degree. @param {1 | -1} way */
  function byDegree(way) {
    const nearest = Math.round(at.turned);
    const whole = Math.abs(nearest - at.turned) < 1e-6 ? nearest : way > 0 ? Math.floor(at.turned) : Math.ceil(at.turned);
    step(whole + way - at.turned);
  }

  /** @param {1 | -1} way */
  function byPin(way) {
    const next = happening(motion, at.tooth, at.turned, way);
    step(next ? next.turn : 0);
  }

  function setSlow() {
    slow = slownessOf(at.part);
    slowness.textContent = slownessInWords(slow);
    speed.setAttribute("aria-valuetext", slownessInWords(slow));
  }

  turn.addEventListener("click", () => setTurning(!at.turning));
  speed.addEventListener("input", () => {
    at.part = Number(speed.value) / 100;
    setSlow();
  });
  /** @param {number} tooth */
  function choose(tooth) {
    at.tooth = tooth;
    select.value = String(tooth);
    layOut();
    tell();
  }
  select.addEventListener("change", () => choose(Number(select.value)));
  frontCanvas.addEventListener("click", (event) => {
    const tooth = front.toothNear(event.offsetY);
    if (tooth > 0) choose(tooth);
  });
  section.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
    if (event.target instanceof HTMLElement && event.target.matches("select, input, .scroll")) return;
    const act = { ArrowLeft: () => byDegree(-1), ArrowRight: () => byDegree(1), ArrowUp: () => byPin(1), ArrowDown: () => byPin(-1), " ": () => setTurning(!at.turning) }[event.key];
    if (!act || (event.key === " " && event.target instanceof HTMLButtonElement)) return;
    event.preventDefault();
    act();
  });

  const sized = new ResizeObserver(() => section.clientWidth !== laid && layOut());
  sized.observe(section);
  const sight = new IntersectionObserver((entries) => {
    seen = entries[entries.length - 1].isIntersecting;
    if (seen) ask();
  }, { rootMargin: "200px" });
  sight.observe(section);
  dark.addEventListener("change", layOut);
  setSlow();
  tell();
  setTurning(at.turning);

  return {
    section,
    close() {
      cancelAnimationFrame(frame);
      window.clearTimeout(following);
      sized.disconnect();
      sight.disconnect();
      dark.removeEventListener("change", layOut);
    },
    /** @param {number} deg @param {number} speed */
    follow(deg, speed) {
      if (stepped) return;
      if (at.turning) setTurning(false);
      at.turned += roundCircle(deg - at.turned + 180) - 180;
      if (speed > 0) slow = 1 / speed;
      window.clearTimeout(following);
      following = window.setTimeout(() => {
        following = 0;
        setSlow();
        ask();
      }, QUIET_MS);
      ask();
    },
  };
}

document.addEventListener("redrawn", show);
document.addEventListener("sounding", (event) => {
  const now = /** @type {CustomEvent<{ deg: number, speed: number } | null>} */ (event).detail;
  if (now) shown?.follow(now.deg, now.speed);
});
still.addEventListener("change", () => {
  shown?.close();
  shown = null;
  at.turning = false;
  show();
});
