// Nothing leaves the page before what was typed is saved.
import { around } from "./elements.js";
import { form } from "./boxes.js";
import { saveAll, send } from "./sending.js";
import { pending } from "./unsaved.js";

// A form that acts on the visit waits until everything typed before it is saved.
document.addEventListener("submit", async (event) => {
  const acts = event.target;
  if (!(acts instanceof HTMLFormElement)) return;
  if (acts === form) event.preventDefault();
  if (!acts.matches("[data-after-save]") || !pending.size) return;
  event.preventDefault();
  if (await saveAll()) acts.submit();
});

// So does a link of the work: plan, bandage and check must never lag behind what was just ticked.
// The bar above the work always opens, whatever the connection does.
document.addEventListener("click", async (event) => {
  const link = around(event, "main a[href]");
  if (!(link instanceof HTMLAnchorElement) || !pending.size) return;
  if (link.getAttribute("href")?.startsWith("#")) return;
  if (event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (await saveAll()) location.href = link.href;
});

addEventListener("online", () => send());
addEventListener("gaiter:lock", () => send({ keepalive: true }));
addEventListener("pagehide", () => send({ keepalive: true }));
