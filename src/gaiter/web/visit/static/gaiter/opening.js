// What is asked only after another answer opens with it.
import { boxOf, read } from "./boxes.js";

const NOTHING_FOUND = ["", "no", "none", "0"];

/**
 * Whether an answer on the page opens an element.
 *
 * @param {HTMLElement} element
 * @returns {boolean}
 */
function opened(element) {
  const on = (element.dataset.opensOn || "").split(" ").filter(Boolean);
  return (element.dataset.openedBy ?? "").split(" ").some((path) => {
    const parent = boxOf(path);
    const value = parent ? read(parent) || parent.dataset.counts : "";
    // Where many may be chosen, to be asked at all opens it.
    if (typeof value !== "string") return !on.length;
    return on.length ? on.includes(value) : !NOTHING_FOUND.includes(value);
  });
}

/** Opens and shuts by what the boxes say now; what is filled in never shuts. */
export function openWhatIsAsked() {
  /** @type {NodeListOf<HTMLElement>} */
  const elements = document.querySelectorAll("[data-opened-by]");
  for (const element of elements) {
    if (element instanceof HTMLDetailsElement) element.open ||= opened(element);
    else element.hidden = !opened(element) && read(element) === "";
  }
}
