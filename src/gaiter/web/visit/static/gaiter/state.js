// One line says whether everything is saved.
import { element } from "./elements.js";

const line = element("#save-state");

/**
 * Says how saving stands.
 *
 * @param {"saved" | "saving" | "unsaved" | "problem"} kind
 */
export function say(kind) {
  line.textContent = line.dataset[kind] ?? "";
  line.className = `save-state ${kind === "unsaved" || kind === "problem" ? kind : ""}`;
}
