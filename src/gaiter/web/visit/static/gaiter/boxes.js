// The boxes of a visit: found by path, read, written, and told what is wrong.
import { element } from "./elements.js";

/** @typedef {string | string[]} Answer What stands in a box; several where many may be chosen. */
/** @typedef {import("./elements.js").Input} Input */

const INPUTS = "input, select, textarea";

export const form = /** @type {HTMLFormElement} */ (element("form.visit"));

/**
 * The box of a path; a few stand beside the decision, outside the form.
 *
 * @param {string} path
 * @returns {HTMLElement | null}
 */
export function boxOf(path) {
  return document.querySelector(`.box[data-path="${CSS.escape(path)}"]`);
}

/**
 * The path a box answers.
 *
 * @param {HTMLElement} box
 * @returns {string}
 */
export function pathOf(box) {
  return box.dataset.path ?? "";
}

/**
 * What may be typed in or ticked of a box, by its own path.
 *
 * @param {HTMLElement} box
 * @returns {Input[]}
 */
export function inputsOf(box) {
  /** @type {NodeListOf<Input>} */
  const all = box.querySelectorAll(INPUTS);
  return [...all].filter((input) => input.name === box.dataset.path);
}

/**
 * What stands in a box.
 *
 * @param {HTMLElement} box
 * @returns {Answer}
 */
export function read(box) {
  const inputs = inputsOf(box);
  const chosen = inputs.filter((input) => input instanceof HTMLInputElement && input.checked);
  if (box.dataset.kind === "many") return chosen.map((input) => input.value);
  if (inputs[0].type === "radio") return chosen[0]?.value ?? "";
  return inputs[0].value;
}

/**
 * Puts an answer in a box.
 *
 * @param {HTMLElement} box
 * @param {Answer} answer
 */
export function write(box, answer) {
  for (const input of inputsOf(box)) {
    if (input instanceof HTMLInputElement && input.type === "radio")
      input.checked = input.value === answer;
    else if (input instanceof HTMLInputElement && input.type === "checkbox")
      input.checked = answer.includes(input.value);
    else input.value = String(answer);
  }
}

/**
 * Says what is wrong with a box, or that nothing is.
 *
 * @param {HTMLElement} box
 * @param {string} sentence Empty where nothing is wrong.
 */
export function fault(box, sentence) {
  const note = element(":scope > .error", box);
  note.textContent = sentence;
  note.hidden = !sentence;
  box.classList.toggle("wrong", Boolean(sentence));
  for (const input of box.querySelectorAll(INPUTS)) {
    if (sentence) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
}
