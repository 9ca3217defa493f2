// The plan page: every change of a control fetches the part anew; the address holds every choice,
// so the browser's own "back" undoes too.
const undone = [];
let wanted = 0;
let timer;

function addressOf(form) {
  const data = new FormData(form);
  const asked = new URLSearchParams([...data].filter(([, value]) => value !== ""));
  return `${location.pathname}?${asked}`;
}

async function show(address, { remember = true } = {}) {
  const mine = ++wanted;
  const part = document.getElementById("design");
  part.classList.add("waiting");
  const response = await fetch(address, { headers: { "X-Part": "design" } });
  const html = await response.text();
  if (mine !== wanted) return;
  part.classList.remove("waiting");
  if (response.redirected) { location.href = address; return; }
  if (!response.ok) {
    part.querySelector(".answer").innerHTML = html;
    return;
  }
  const focused = document.activeElement?.id;
  if (remember) undone.push(location.pathname + location.search);
  history.replaceState(null, "", address);
  part.outerHTML = html;
  if (focused) document.getElementById(focused)?.focus();
  for (const hidden of document.querySelectorAll("form[data-asked] [name=asked]"))
    hidden.value = new URL(address, location.href).search.slice(1);
}

document.addEventListener("input", (event) => {
  const form = event.target.closest?.("[data-live-form]");
  if (!form) return;
  const output = document.querySelector(`label[for="${event.target.id}"] output`);
  if (output) output.textContent = `${event.target.value} ${output.textContent.split(" ").pop()}`;
  clearTimeout(timer);
  // Another system starts from its own computed values, not from the last one's.
  const fresh = event.target.name === "system";
  const address = fresh ? `${location.pathname}?system=${event.target.value}` : addressOf(form);
  timer = setTimeout(() => show(address), 60);
});

document.addEventListener("click", (event) => {
  if (event.target.closest("[data-undo]") && undone.length) show(undone.pop(), { remember: false });
  const suggest = event.target.closest("[data-suggest]");
  if (suggest) show(location.pathname);
});
document.addEventListener("submit", (event) => {
  if (event.target.matches("[data-live-form]")) { event.preventDefault(); show(addressOf(event.target)); }
});
