// Locks the screen after idling. What was typed is sent first; what could not be sent is kept.
const idle = Number(document.body.dataset.idleSeconds) * 1000;
const lock = document.body.dataset.lock ?? "";
let touched = Date.now();

for (const kind of ["pointerdown", "keydown", "scroll", "touchstart"])
  addEventListener(kind, () => { touched = Date.now(); }, { passive: true });

setInterval(() => {
  if (Date.now() - touched < idle || location.pathname === lock) return;
  dispatchEvent(new Event("gaiter:lock"));
  const here = location.pathname + location.search;
  location.href = `${lock}?next=${encodeURIComponent(here)}`;
}, Math.min(5000, idle / 4));
