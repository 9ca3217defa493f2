// What is typed and not saved yet: kept on this tablet at once, forgotten when the server has it.
import { form } from "./boxes.js";

const key = `gaiter-unsaved-${form.dataset.visit}`;

/** @type {Map<string, import("./boxes.js").Answer>} Answers that wait to be saved, by path. */
export const pending = new Map(JSON.parse(localStorage.getItem(key) || "[]"));

/** Keeps what waits on this tablet. */
export function keep() {
  if (pending.size) localStorage.setItem(key, JSON.stringify([...pending]));
  else localStorage.removeItem(key);
}

/**
 * Forgets an answer that the server has seen; what was typed over it since still waits.
 *
 * @param {string} path
 * @param {import("./boxes.js").Answer | undefined} sent
 */
export function forget(path, sent) {
  if (JSON.stringify(pending.get(path)) === JSON.stringify(sent)) pending.delete(path);
}
