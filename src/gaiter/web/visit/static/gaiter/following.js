// What follows the boxes – the decision, the drawing, what is missing – is fetched after each save.
import { form, pathOf } from "./boxes.js";
import { element } from "./elements.js";

const BUSY_MS = 1000;

/** Replaces each part by itself; never one that is in use. */
async function refresh() {
  const response = await fetch(form.dataset.live ?? "");
  if (response.status === 429) {
    // What was decided before the last answer must not stay: asked again until it is told.
    setTimeout(refresh, BUSY_MS);
    return;
  }
  if (!response.ok || response.redirected) return;
  const answer = document.createElement("template");
  answer.innerHTML = await response.text();
  /** @type {NodeListOf<HTMLElement>} */
  const parts = answer.content.querySelectorAll("[data-part]");
  for (const part of parts) {
    const slot = document.querySelector(`[data-slot="${part.dataset.part}"]`);
    if (!slot || slot.contains(document.activeElement)) continue;
    if (slot.querySelector("details[open] form")) continue;
    if (slot.innerHTML.trim() !== part.innerHTML.trim()) slot.innerHTML = part.innerHTML;
  }
  /** @type {NodeListOf<HTMLElement>} */
  const asked = answer.content.querySelectorAll("[data-asked]");
  const words = new Map([...asked].map((each) => [each.dataset.asked, each.innerHTML]));
  /** @type {NodeListOf<HTMLElement>} */
  const boxes = form.querySelectorAll(".box");
  for (const box of boxes)
    element(":scope > .asked", box).innerHTML = words.get(pathOf(box)) ?? "";
}

addEventListener("gaiter:saved", refresh);
