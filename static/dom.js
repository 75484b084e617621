/** What the scripts that build parts of the page share. */

/**
 * @template {keyof HTMLElementTagNameMap} K
 * @param {K} name
 * @param {Record<string, string>} [attributes]
 * @param {...(Node | string)} children
 * @returns {HTMLElementTagNameMap[K]}
 */
export function make(name, attributes = {}, ...children) {
  const element = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, value);
  element.append(...children);
  return element;
}

/** @param {string} text  said once, to everyone, by the page's live region */
export function announce(text) {
  const live = document.getElementById("announce");
  if (live) live.textContent = text;
}
