// Keeps ticks of the steps on this tablet until the page is closed.
const list = document.querySelector("[data-steps]");
const key = `gaiter-steps-${list.dataset.steps}`;
const ticks = [...list.querySelectorAll("input[type=checkbox]")];
const kept = JSON.parse(sessionStorage.getItem(key) || "[]");
ticks.forEach((tick, n) => {
  tick.checked = kept.includes(n);
  tick.addEventListener("change", () => {
    const on = ticks.flatMap((t, i) => (t.checked ? [i] : []));
    sessionStorage.setItem(key, JSON.stringify(on));
  });
});
