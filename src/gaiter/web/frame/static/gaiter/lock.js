// Locks the screen after idling. What was typed is sent first; what could not be sent is kept.
const idle = Number(document.body.dataset.idleSeconds) * 1000;
let touched = Date.now();
for (const kind of ["pointerdown", "keydown", "scroll", "touchstart"])
  addEventListener(kind, () => { touched = Date.now(); }, { passive: true });
setInterval(() => {
  if (Date.now() - touched < idle || location.pathname === document.body.dataset.lock) return;
  dispatchEvent(new Event("gaiter:lock"));
  const here = location.pathname + location.search;
  location.href = `${document.body.dataset.lock}?next=${encodeURIComponent(here)}`;
}, Math.min(5000, idle / 4));
