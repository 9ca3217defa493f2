// The plan page: every change of a control fetches the part anew; the address holds every choice,
// so the browser's own "back" undoes too.
import { around, changed, element } from "./elements.js";

const WAIT_MS = 60;
const BUSY_MS = 500;
/** @typedef {import("./elements.js").Input} Input */

/** @type {string[]} */
const undone = [];
let wanted = 0;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;

/**
 * The address that asks for what the controls say.
 *
 * @param {HTMLFormElement} form
 * @returns {string}
 */
function addressOf(form) {
  const asked = new URLSearchParams();
  for (const [name, value] of new FormData(form))
    if (typeof value === "string" && value !== "") asked.append(name, value);
  return `${location.pathname}?${asked}`;
}

/**
 * Puts what an address answers in the place of the part; only the last one asked for counts.
 *
 * @param {string} address
 * @param {{ remember?: boolean }} [options] Whether *undo* comes back to what is shown now.
 * @returns {Promise<void>}
 */
async function show(address, { remember = true } = {}) {
  const mine = ++wanted;
  const part = element("#design");
  part.classList.add("waiting");
  const response = await fetch(address, { headers: { "X-Part": "design" } });
  const html = await response.text();
  if (mine !== wanted) return;
  if (response.status === 429) {
    // Answers to earlier changes are still under way; this one is asked again after them.
    timer = setTimeout(() => show(address, { remember }), BUSY_MS);
    return;
  }
  part.classList.remove("waiting");
  if (response.redirected) {
    location.href = address;
    return;
  }
  if (!response.ok) {
    element(".answer", part).innerHTML = html;
    return;
  }
  const focused = document.activeElement?.id;
  if (remember) undone.push(location.pathname + location.search);
  history.replaceState(null, "", address);
  part.outerHTML = html;
  if (focused) document.getElementById(focused)?.focus();
  /** @type {NodeListOf<HTMLInputElement>} */
  const carried = document.querySelectorAll("form[data-asked] [name=asked]");
  for (const hidden of carried) hidden.value = new URL(address, location.href).search.slice(1);
}

/** @param {Input} control What was just changed. */
function answerTo(control) {
  const form = control.form;
  if (!form?.matches("[data-live-form]")) return;
  const output = document.querySelector(`label[for="${control.id}"] output`);
  if (output) output.textContent = `${control.value} ${output.textContent?.split(" ").pop()}`;
  clearTimeout(timer);
  // Another system starts from its own computed values, not from the last one's.
  const fresh = control.name === "system";
  const address = fresh ? `${location.pathname}?system=${control.value}` : addressOf(form);
  timer = setTimeout(() => show(address), WAIT_MS);
}

document.addEventListener("input", (event) => {
  const control = event.target;
  if (control instanceof HTMLInputElement || control instanceof HTMLSelectElement)
    answerTo(control);
});

document.addEventListener("click", (event) => {
  if (around(event, "[data-undo]")) {
    const before = undone.pop();
    if (before) show(before, { remember: false });
  }
  if (around(event, "[data-suggest]")) show(location.pathname);
});

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!(form instanceof HTMLFormElement) || !form.matches("[data-live-form]")) return;
  event.preventDefault();
  show(addressOf(form));
});

// What was changed before this script ran counts like what is changed after.
/** @type {NodeListOf<Input>} */
const controls = document.querySelectorAll("[data-live-form] :is(input, select)");
for (const control of controls) if (changed(control)) answerTo(control);
