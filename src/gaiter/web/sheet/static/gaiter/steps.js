// Keeps ticks of the steps on this tablet until the page is closed.
import { element } from "./elements.js";

const list = element("[data-steps]");
const key = `gaiter-steps-${list.dataset.steps}`;
/** @type {HTMLInputElement[]} */
const ticks = [...list.querySelectorAll("input")].filter((input) => input.type === "checkbox");
/** @type {number[]} Numbers of the steps that are ticked, from nought. */
const kept = JSON.parse(sessionStorage.getItem(key) || "[]");

ticks.forEach((tick, number) => {
  tick.checked = kept.includes(number);
  tick.addEventListener("change", () => {
    const on = ticks.flatMap((each, n) => (each.checked ? [n] : []));
    sessionStorage.setItem(key, JSON.stringify(on));
  });
});
