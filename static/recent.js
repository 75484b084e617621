/**
 * The projects that this browser worked on, newest first. Calculation only: the storage comes in.
 *
 * @typedef {{ url: string, title: string, at: number }} Recent  at: ms since 1970
 * @typedef {Pick<Storage, "getItem" | "setItem">} Store
 */

const KEY = "pinwright.recent";
const MOST = 12;

/**
 * What the store holds; an entry that is not one is passed over.
 * @param {Store} store
 * @returns {Recent[]}
 */
export function recent(store) {
  /** @type {unknown} */
  let list;
  try {
    list = JSON.parse(store.getItem(KEY) ?? "[]");
  } catch {
    return [];
  }
  return Array.isArray(list) ? list.filter(isRecent).slice(0, MOST) : [];
}

/**
 * @param {any} entry
 * @returns {entry is Recent}
 */
function isRecent(entry) {
  return (
    typeof entry === "object" && entry !== null &&
    typeof entry.url === "string" && /^\/(?!\/)/.test(entry.url) && // only addresses of this server
    typeof entry.title === "string" && typeof entry.at === "number"
  );
}

/**
 * Puts a project at the head of the list.
 * @param {Store} store
 * @param {Recent} entry
 */
export function remember(store, entry) {
  save(store, [entry, ...recent(store).filter((r) => r.url !== entry.url)].slice(0, MOST));
}

/**
 * Takes a project off the list.
 * @param {Store} store
 * @param {string} url
 */
export function forget(store, url) {
  save(store, recent(store).filter((r) => r.url !== url));
}

/**
 * @param {Store} store
 * @param {Recent[]} list
 */
function save(store, list) {
  try {
    store.setItem(KEY, JSON.stringify(list));
  } catch {
    // A full or forbidden store costs only the convenience.
  }
}

/**
 * The browser's store, or one that keeps nothing where it is forbidden.
 * @returns {Store}
 */
export function browserStore() {
  try {
    return window.localStorage;
  } catch {
    return { getItem: () => null, setItem: () => {} };
  }
}
