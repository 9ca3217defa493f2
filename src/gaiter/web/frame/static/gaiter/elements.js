// What a script cannot do without.

/** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Input */

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

/**
 * Whether an input was changed since the page came from the server.
 *
 * @param {Input} input
 * @returns {boolean}
 */
export function changed(input) {
  if (input.name === "" || input.type === "hidden") return false;
  if (input instanceof HTMLSelectElement) {
    const given = [...input.options].find((option) => option.defaultSelected) ?? input.options[0];
    return input.value !== given.value;
  }
  if (input instanceof HTMLInputElement && (input.type === "radio" || input.type === "checkbox"))
    return input.checked !== input.defaultChecked;
  // A slider rounds to its step by itself.
  if (input instanceof HTMLInputElement && input.type === "range")
    return Math.abs(input.valueAsNumber - Number(input.defaultValue)) >= Number(input.step);
  return input.value !== input.defaultValue;
}
