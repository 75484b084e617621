import { explain, fieldsOf, neighbour, pauseMs } from "./answer.js";
import { browserStore, remember } from "./recent.js";
import "./elsewhere.js";
import "./listen.js";
import "./roll.js";
import { say } from "./say.js";
import { sceneIn } from "./scene.js";
import { takeOver } from "./shown.js";
import "./turning.js";
import "./write.js";

const BUSY_AFTER_MS = 300;
const SLOW_AFTER_MS = 1000;
const KEPT = "pinwright.kept";

const main = /** @type {HTMLElement} */ (document.getElementById("project"));
const busy = /** @type {HTMLElement} */ (document.getElementById("busy"));
const announcer = /** @type {HTMLElement} */ (document.getElementById("announce"));

/** What stood in a part of the page before it was asked for. @type {WeakMap<Element, ChildNode[]>} */
const unasked = new WeakMap();

/** True while a change is on its way: changes go one after the other. */
let sending = false;

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !form.hasAttribute("data-decide")) return;
  event.preventDefault();
  const data = new FormData(form, event.submitter);
  const body = new URLSearchParams();
  for (const [name, value] of data) if (typeof value === "string") body.append(name, value);
  void decide(form.action, body, form);
  const step = /^\{"kind":"(undo|redo)"\}$/.exec(body.get("decision") ?? "");
  if (step) document.dispatchEvent(new CustomEvent("going-back", { detail: { undo: step[1] === "undo" } }));
});

// A change that was made on the drawing, or typed; whoever sends it learns whether it was taken up.
document.addEventListener("decide", (event) => {
  const scene = sceneIn(document);
  if (!(event instanceof CustomEvent) || !scene?.deciding || sending) return;
  event.preventDefault();
  void decide(scene.deciding.url, new URLSearchParams({ revision: String(scene.deciding.revision), decision: JSON.stringify(event.detail) }), null);
});

/**
 * Posts a change and shows what came of it.
 * @param {string} url
 * @param {URLSearchParams} body
 * @param {HTMLFormElement | null} form  where the change was made
 */
async function decide(url, body, form) {
  if (sending) return;
  sending = true;
  let made = false;
  const note = noteOf(main.querySelector(".panel")); // stays open
  if (note && !url.includes("?")) url += `?note=${note}`;
  const timer = window.setTimeout(() => {
    busy.hidden = false;
    main.setAttribute("aria-busy", "true");
  }, BUSY_AFTER_MS);
  try {
    const response = await fetch(url, { method: "POST", body, headers: { "Pinwright-Fragment": "1" }, credentials: "same-origin" });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const fragment = page.getElementById("fragment");
    made = response.ok;
    if (fragment && (response.ok || response.status === 412)) {
      swap(fragment, form);
    } else if (fragment && response.status === 422) {
      refuse(page.getElementById("problem"), form);
    } else {
      const { title, detail, again } = explain(response.status, response.headers.get("Retry-After"));
      tell(title, detail, again ? { url, body, form } : null);
    }
  } catch {
    window.clearTimeout(timer);
    busy.hidden = true;
    await outlast({ url, body: body.toString() });
  } finally {
    window.clearTimeout(timer);
    busy.hidden = true;
    main.removeAttribute("aria-busy");
    sending = false;
    document.dispatchEvent(new CustomEvent("decided", { detail: { made } }));
  }
}

/**
 * Keeps a change to which no answer came, over a reload of the page as well, until the server answers again; then sees whether it was made,
 * and else sends it.
 * @param {{ url: string, body: string }} change
 */
async function outlast(change) {
  keep(change);
  const { title, detail } = explain(0, null);
  tell(title, detail, null);
  for (let tries = 0; ; tries++) {
    await waited(pauseMs(tries));
    const fragment = await fetchFragment();
    if (!fragment) continue;
    keep(null);
    const body = new URLSearchParams(change.body);
    const stands = fragment.getAttribute("data-revision") ?? "";
    if (stands === body.get("revision")) {
      document.getElementById("problem")?.remove();
      sending = false;
      await decide(change.url, body, null);
      announcer.textContent = say("The server answers again; the change was sent. {1}", announcer.textContent ?? "");
      return;
    }
    swap(fragment, null);
    const last = main.querySelector(".ledger li:last-child")?.textContent ?? say("none");
    tell(say("The server answers again."), say("The project stands at revision {1}; its last decision: {2}. If that is not your change, make it again.", stands, last),
      { url: change.url, body, form: null });
    return;
  }
}

/** @returns {Promise<HTMLElement | null>} the project as it stands; null where no answer came */
async function fetchFragment() {
  try {
    const response = await fetch(location.pathname, { headers: { "Pinwright-Fragment": "1" }, credentials: "same-origin" });
    return response.ok ? new DOMParser().parseFromString(await response.text(), "text/html").getElementById("fragment") : null;
  } catch {
    return null;
  }
}

/** Waits, or until the browser is connected again. @param {number} ms @returns {Promise<void>} */
function waited(ms) {
  return new Promise((resolve) => {
    const done = () => {
      window.clearTimeout(timer);
      window.removeEventListener("online", done);
      resolve();
    };
    const timer = window.setTimeout(done, ms);
    window.addEventListener("online", done);
  });
}

/** @param {{ url: string, body: string } | null} change  that no answer came to; null for none */
function keep(change) {
  try {
    if (change) sessionStorage.setItem(KEPT, JSON.stringify(change));
    else sessionStorage.removeItem(KEPT);
  } catch {
    // a browser that stores nothing keeps it as long as the page is open
  }
}

/** Takes up a change that was kept when the page was left. */
function takeUp() {
  try {
    const change = JSON.parse(sessionStorage.getItem(KEPT) ?? "null");
    if (change && typeof change.url === "string" && typeof change.body === "string" && change.url.startsWith(`${location.pathname}/`)) {
      sending = true;
      void outlast(change).finally(() => (sending = false));
    }
  } catch {
    // nothing is kept
  }
}

/**
 * Puts the project as it stands now in place of the one shown; what the reader was doing stays where it was.
 * @param {HTMLElement} fragment
 * @param {HTMLFormElement | null} sent  the form that made the change
 */
function swap(fragment, sent) {
  const focus = trail(document.activeElement);
  const open = new Set([...main.querySelectorAll("details[open][id]")].map((d) => d.id));
  const shown = new Set([...main.querySelectorAll("details[id]")].map((d) => d.id));
  const left = main.querySelector(".roll")?.scrollLeft ?? 0;
  const top = main.querySelector(".notes")?.scrollTop ?? 0;
  const scroll = window.scrollY;
  const advised = main.querySelector("#advice .advice") ? [...(document.getElementById("advice")?.childNodes ?? [])] : [];
  const unsaved = controls().filter((c) => c.form !== sent && touched(c)).map((c) => ({ id: c.id, value: c.value, checked: ticked(c) }));

  takeOver(fragment);
  main.replaceChildren(document.adoptNode(fragment));
  if (location.search) history.replaceState(null, "", location.pathname + location.hash); // the finding it names may be settled

  for (const details of main.querySelectorAll("details")) if (shown.has(details.id)) details.open = open.has(details.id);
  for (const control of controls()) {
    const kept = unsaved.find((u) => u.id === control.id);
    if (!kept) continue;
    if (isBox(control)) control.checked = kept.checked;
    else control.value = kept.value;
  }
  if (advised.length > 0) adviseAgain(advised);
  settle();
  const roll = main.querySelector(".roll"), notes = main.querySelector(".notes"); // last, when all that is drawn stands: each makes the browser lay out
  if (roll) roll.scrollLeft = left;
  if (notes) notes.scrollTop = top;
  window.scrollTo({ top: scroll, behavior: "instant" });

  const problem = document.getElementById("problem");
  if (problem) {
    attend(problem);
    return;
  }
  refocus(focus);
  announcer.textContent = main.querySelector("#fragment")?.getAttribute("data-verdict") ?? "";
}

/**
 * Keeps advice that was on the page until it is worked out anew, so that nothing jumps; it cannot be taken meanwhile.
 * @param {ChildNode[]} old
 */
function adviseAgain(old) {
  const section = /** @type {HTMLElement} */ (document.getElementById("advice"));
  const link = section.querySelector("a[data-part]");
  if (!(link instanceof HTMLAnchorElement)) return;
  const plain = [...section.childNodes];
  section.replaceChildren(...old);
  for (const button of section.querySelectorAll("button")) button.disabled = true;
  void show(section, link.href).then((trouble) => {
    if (!trouble) return;
    section.replaceChildren(...plain);
    const status = section.querySelector("[role='status']");
    if (status) status.textContent = trouble;
  });
}

/**
 * Asks for a part of the page that takes longer to work out, and puts it in its place.
 * @param {HTMLElement} section
 * @param {string} url
 * @returns {Promise<string>} why it could not be shown; empty where it is
 */
async function show(section, url) {
  if (section.hasAttribute("aria-busy")) return "";
  section.setAttribute("aria-busy", "true");
  const status = section.querySelector("[role='status']");
  const timer = window.setTimeout(() => {
    if (status) status.textContent = say("Being worked out. Nothing changes meanwhile.");
  }, SLOW_AFTER_MS);
  let trouble = "";
  try {
    const response = await fetch(url, { headers: { "Pinwright-Fragment": "1" }, credentials: "same-origin" });
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    const fresh = page.getElementById(section.id);
    if (response.ok && fresh) {
      const open = new Set([...section.querySelectorAll("details[open][id]")].map((d) => d.id));
      section.replaceChildren(...document.importNode(fresh, true).childNodes);
      for (const details of section.querySelectorAll("details")) details.open = open.has(details.id);
      if (section.isConnected) announcer.textContent = say("{1}: shown.", section.querySelector("h2, h3, .panel-title b")?.textContent ?? "");
    } else {
      const said = [...page.querySelectorAll(".error h1, .error h1 + p")].map((e) => e.textContent).join(". ");
      trouble = said || say("{1} Ask again in a moment.", explain(response.status, null).title);
    }
  } catch {
    trouble = say("{1} Check the connection, then ask again.", explain(0, null).title);
  } finally {
    window.clearTimeout(timer);
    section.removeAttribute("aria-busy");
  }
  if (trouble && status) status.textContent = trouble;
  return trouble;
}

/**
 * The fields of the setup's forms.
 * @returns {(HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement)[]}
 */
function controls() {
  return [...main.querySelectorAll(".setup :is(input:not([type='hidden']), select, textarea)")].filter(
    (c) => c instanceof HTMLInputElement || c instanceof HTMLSelectElement || c instanceof HTMLTextAreaElement,
  );
}

/**
 * Reports whether the user changed a field since the page was drawn.
 * @param {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} control
 */
function touched(control) {
  if (control instanceof HTMLSelectElement) return !control.selectedOptions[0]?.defaultSelected && [...control.options].some((o) => o.defaultSelected);
  if (isBox(control)) return control.checked !== control.defaultChecked;
  return control.value !== control.defaultValue;
}

/**
 * @param {Element} control
 * @returns {control is HTMLInputElement}
 */
function isBox(control) {
  return control instanceof HTMLInputElement && control.type === "checkbox";
}

/** @param {Element} control */
function ticked(control) {
  return isBox(control) && control.checked;
}

/**
 * Says why a change was refused, and leaves what was typed.
 * @param {HTMLElement | null} problem
 * @param {HTMLFormElement | null} form
 */
function refuse(problem, form) {
  for (const field of main.querySelectorAll("[aria-invalid='true']")) field.setAttribute("aria-invalid", "false");
  if (!problem) {
    const { title, detail } = explain(422, null);
    tell(title, detail, null);
    return;
  }
  document.getElementById("problem")?.remove();
  const notice = document.importNode(problem, true);
  const field = fieldsOf(problem.dataset.pointer ?? "").map((name) => form?.elements.namedItem(name)).find((f) => f);
  if (field instanceof HTMLInputElement || field instanceof HTMLSelectElement || field instanceof HTMLTextAreaElement) {
    notice.querySelector("a[href^='#']")?.remove();
    (field.closest(".field") ?? form)?.append(notice);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-errormessage", "problem");
    field.focus();
    return;
  }
  if (form?.closest(".panel")) form.append(notice);
  else message().replaceChildren(notice);
  attend(notice);
}

/**
 * Shows a message above the project; with a change, offers it again.
 * @param {string} title
 * @param {string} detail
 * @param {{ url: string, body: URLSearchParams, form: HTMLFormElement | null } | null} change
 */
function tell(title, detail, change) {
  const notice = document.createElement("div");
  notice.id = "problem";
  notice.className = "notice bad";
  notice.setAttribute("role", "alert");
  const strong = document.createElement("strong");
  strong.textContent = title;
  const words = document.createElement("p");
  words.textContent = detail;
  notice.append(strong, words);
  if (change) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = say("Make the change again");
    button.addEventListener("click", () => {
      change.body.set("revision", main.querySelector("#fragment")?.getAttribute("data-revision") ?? "");
      void decide(change.url, change.body, change.form);
    });
    notice.append(button);
  }
  document.getElementById("problem")?.remove();
  message().replaceChildren(notice);
  attend(notice);
}

/** @returns {HTMLElement} */
function message() {
  return /** @type {HTMLElement} */ (document.getElementById("message"));
}

/** @param {HTMLElement} notice */
function attend(notice) {
  notice.tabIndex = -1;
  notice.focus({ preventScroll: true });
  notice.scrollIntoView({ block: "nearest" });
}

/**
 * How to find an element again in a page drawn anew: its id or name and value, and the ids of what it stands in, from
 * the inside out.
 * @typedef {{ selector: string, within: string[] }} Trail
 * @param {Element | null} element
 * @returns {Trail | null}
 */
function trail(element) {
  if (!element || !main.contains(element)) return null;
  const within = [];
  for (let e = element.parentElement; e && e !== main; e = e.parentElement) if (e.id) within.push(e.id);
  if (element.id) return { selector: `#${CSS.escape(element.id)}`, within };
  const name = element.getAttribute("name");
  const value = element instanceof HTMLButtonElement ? `[value="${CSS.escape(element.value)}"]` : "";
  return { selector: name ? `[name="${CSS.escape(name)}"]${value}` : element.localName, within };
}

/** @param {Trail | null} where */
function refocus(where) {
  if (!where) return;
  for (const id of where.within) {
    const container = document.getElementById(id);
    const element = container?.querySelector(where.selector);
    if (element instanceof HTMLElement && !element.matches(":disabled")) {
      element.focus({ preventScroll: true });
      return;
    }
    if (container && id !== "fragment") {
      container.tabIndex = -1;
      container.focus({ preventScroll: true });
      return;
    }
  }
  main.tabIndex = -1;
  main.focus({ preventScroll: true });
}

/** What has to be done each time the project is drawn. */
function settle() {
  const title = main.querySelector("#fragment")?.getAttribute("data-title") ?? "";
  document.title = `${title} · Pinwright`;
  remember(browserStore(), { url: location.pathname, title, at: Date.now() });
  for (const element of main.querySelectorAll("[data-copy], #keys")) if (element instanceof HTMLElement) element.hidden = false;
  point();
  void openNote();
  document.dispatchEvent(new CustomEvent("redrawn"));
}

/** Marks what the address points at; a page drawn anew has no target of its own. */
function point() {
  for (const element of main.querySelectorAll(".current")) element.classList.remove("current");
  const id = decodeURIComponent(location.hash.slice(1));
  if (!id) return;
  document.getElementById(id)?.classList.add("current");
  if (id.startsWith("note-")) document.getElementById(id.replace("note-", "pin-"))?.classList.add("current");
}

/** From where the panel of a note was opened. @type {Element | null} */
let opener = null;

/**
 * The note of a panel, as an address has it; empty for none.
 * @param {Element | null} panel
 */
const noteOf = (panel) => encodeURIComponent(panel?.id.slice("note-".length) ?? "");

/** Opens the panel of the note that the address names, which is asked for, and closes any other. */
async function openNote() {
  const holder = document.getElementById("open-note");
  if (!holder) return;
  const panel = holder.querySelector(".panel");
  if (!location.hash.startsWith("#note-")) {
    if (!panel) return;
    const had = panel.contains(document.activeElement);
    holder.replaceChildren();
    if (had || document.activeElement === document.body) giveBack(panel.id);
    return;
  }
  if (panel && location.hash === `#${panel.id}`) return;
  if (!panel) opener = document.activeElement;
  const asked = location.hash;
  const trouble = await show(holder, `${location.pathname}?note=${asked.slice("#note-".length)}`);
  if (location.hash !== asked) {
    await openNote();
    return;
  }
  if (trouble) tell(trouble, "", null);
  for (const button of holder.querySelectorAll("[data-hear]")) if (button instanceof HTMLElement) button.hidden = document.getElementById("listen-controls")?.hidden ?? true;
  point();
  const opened = holder.querySelector(".panel");
  if (opened instanceof HTMLElement) opened.focus({ preventScroll: true });
}

/** Gives the focus back to where a panel that is closed was opened. @param {string} id  of the panel */
function giveBack(id) {
  const line = main.querySelector(`.line[href$="#${CSS.escape(id)}"]`);
  const to = opener?.isConnected && opener !== document.body && opener.checkVisibility() ? opener : line;
  opener = null;
  if (to instanceof HTMLElement || to instanceof SVGElement) to.focus({ preventScroll: true });
}

window.addEventListener("hashchange", () => {
  point();
  void openNote();
  const finding = main.querySelector(".finding.current");
  if (finding instanceof HTMLElement) finding.focus({ preventScroll: true });
});

// A link to a note's panel loads no page, and closing it takes it away.
document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("a[href*='#note-'], .panel .close") : null;
  if (!link || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  const address = link.getAttribute("href") ?? "";
  location.hash = link.matches(".close") ? "#closed" : address.slice(address.indexOf("#")); // an address of nothing: the page stays where it is
});

document.addEventListener("click", (event) => {
  const button = event.target instanceof Element ? event.target.closest("[data-copy]") : null;
  if (!(button instanceof HTMLElement)) return;
  const input = document.getElementById(button.dataset.copy ?? "");
  if (!(input instanceof HTMLInputElement)) return;
  navigator.clipboard?.writeText(input.value).then(
    () => (announcer.textContent = button.textContent = say("Copied")),
    () => input.select(),
  ) ?? input.select();
});

document.addEventListener("click", (event) => {
  const link = event.target instanceof Element ? event.target.closest("a[data-part]") : null;
  const section = document.getElementById(link instanceof HTMLElement ? (link.dataset.part ?? "") : "");
  if (!(link instanceof HTMLAnchorElement) || !section || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (!section.hasAttribute("aria-busy")) unasked.set(section, [...section.childNodes]);
  void show(section, link.href).then(() => {
    section.tabIndex = -1;
    section.focus({ preventScroll: true });
  });
});

document.addEventListener("click", (event) => {
  const back = event.target instanceof Element ? event.target.closest("a[data-back]") : null;
  const section = document.getElementById(back instanceof HTMLElement ? (back.dataset.back ?? "") : "");
  const before = section && unasked.get(section);
  if (!before) return;
  event.preventDefault();
  section.replaceChildren(...before);
  const link = section.querySelector("a");
  link?.focus({ preventScroll: true });
});

document.addEventListener("keydown", (event) => {
  const target = event.target;
  if (target instanceof HTMLElement && target.matches("input, textarea, select")) return;
  if ((event.ctrlKey || event.metaKey) && !event.altKey && event.key.toLowerCase() === "z") {
    event.preventDefault();
    const button = document.getElementById(event.shiftKey ? "redo" : "undo");
    if (button instanceof HTMLButtonElement && !button.disabled) button.form?.requestSubmit(button);
    return;
  }
  if (event.ctrlKey || event.metaKey || event.altKey || event.shiftKey) return;
  if (event.key === "Escape" && location.hash.startsWith("#note-")) {
    location.hash = "#closed";
    return;
  }
  const step = event.key === "n" ? 1 : event.key === "p" ? -1 : 0;
  if (step === 0) return;
  const findings = [...main.querySelectorAll(".finding")];
  const next = findings[neighbour(findings.findIndex((f) => f.contains(document.activeElement)), step, findings.length)];
  if (next instanceof HTMLElement) {
    next.focus({ preventScroll: true });
    next.scrollIntoView({ block: "center" });
  }
});

settle();
takeUp();
