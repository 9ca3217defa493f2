// What a script cannot do without.

/**
 * The first element a selector finds.
 *
 * @param {string} selector
 * @param {ParentNode} [root]
 * @returns {HTMLElement}
 * @throws {Error} Where the page has none: the script was put on the wrong page.
 */
export function element(selector, root = document) {
  const found = root.querySelector(selector);
  if (!(found instanceof HTMLElement)) throw new Error(`This page has no ${selector}.`);
  return found;
}

/**
 * The nearest element around an event's target that a selector finds.
 *
 * @param {Event} event
 * @param {string} selector
 * @returns {HTMLElement | null}
 */
export function around(event, selector) {
  const target = event.target;
  return target instanceof Element ? target.closest(selector) : null;
}
