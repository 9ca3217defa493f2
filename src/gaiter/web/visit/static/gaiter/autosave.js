// The visit page saves box by box. What is typed is kept on this tablet at once, sent after half a
// second, and forgotten here when the server has it.
import { around, changed } from "./elements.js";
import { boxOf, inputsOf, pathOf, read, write } from "./boxes.js";
import { makeForms } from "./clash.js";
import "./following.js";
import "./leaving.js";
import { openWhatIsAsked } from "./opening.js";
import { schedule, send } from "./sending.js";
import { say } from "./state.js";
import { keep, pending } from "./unsaved.js";

document.addEventListener("input", (event) => {
  const box = around(event, ".box");
  if (!box) return;
  const typed = event.target;
  // "none" and a named choice exclude each other.
  if (box.dataset.kind === "many" && typed instanceof HTMLInputElement && typed.checked)
    for (const other of box.querySelectorAll("input"))
      if ((typed.value === "none") !== (other.value === "none")) other.checked = false;
  pending.set(pathOf(box), read(box));
  keep();
  say("saving");
  if (read(box).length) box.classList.remove("again");
  openWhatIsAsked();
  schedule();
});

makeForms(document);
// What was typed before this script ran counts like what is typed after.
/** @type {NodeListOf<HTMLElement>} */
const boxes = document.querySelectorAll("form.visit .box");
for (const box of boxes)
  if (inputsOf(box).some(changed)) pending.set(pathOf(box), read(box));
for (const [path, answer] of pending) {
  const box = boxOf(path);
  if (box) write(box, answer);
}
openWhatIsAsked();
if (pending.size) send();
