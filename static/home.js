import { browserStore, forget, recent } from "./recent.js";
import { say } from "./say.js";

const form = /** @type {HTMLFormElement} */ (document.getElementById("upload"));
const input = /** @type {HTMLInputElement} */ (document.getElementById("tune"));
const status = /** @type {HTMLElement} */ (document.getElementById("status"));
const store = browserStore();

for (const name of ["dragenter", "dragover"]) {
  form.addEventListener(name, (event) => {
    event.preventDefault();
    form.classList.add("over");
  });
}
form.addEventListener("dragleave", (event) => {
  if (!(event.relatedTarget instanceof Node && form.contains(event.relatedTarget))) form.classList.remove("over");
});
form.addEventListener("drop", (event) => {
  event.preventDefault();
  form.classList.remove("over");
  const files = event.dataTransfer?.files;
  if (!files || files.length === 0) return;
  if (files.length > 1) {
    status.textContent = say("{1} files were dropped. One tune at a time makes a cylinder; drop one file.", files.length);
    return;
  }
  input.files = files;
  form.requestSubmit();
});

/** A file that missed the box must not take the place of the page. */
for (const name of ["dragover", "drop"]) {
  window.addEventListener(name, (event) => event.preventDefault());
}

form.addEventListener("submit", () => {
  const name = input.files?.[0]?.name ?? say("the tune");
  window.setTimeout(() => (status.textContent = say("Reading {1} and laying out its pins.", name)), 300);
});
window.addEventListener("pageshow", () => (status.textContent = ""));

/** Shows the list of recent projects, or nothing where there are none. */
function showRecent() {
  const section = /** @type {HTMLElement} */ (document.getElementById("recent"));
  const list = /** @type {HTMLElement} */ (document.getElementById("recent-list"));
  const entries = recent(store);
  section.hidden = entries.length === 0;
  list.replaceChildren(...entries.map((entry) => {
    const link = document.createElement("a");
    link.href = entry.url;
    link.textContent = entry.title;
    const when = document.createElement("span");
    when.className = "quiet";
    when.textContent = new Date(entry.at).toLocaleString();
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = say("Forget");
    button.setAttribute("aria-label", say("Forget {1}", entry.title));
    button.addEventListener("click", () => {
      forget(store, entry.url);
      showRecent();
    });
    const item = document.createElement("li");
    item.append(link, when, button);
    return item;
  }));
}

showRecent();
