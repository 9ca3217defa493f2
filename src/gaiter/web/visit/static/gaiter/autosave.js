// The visit page saves box by box. What is typed is kept on this tablet at once, sent after half a
// second, and forgotten here when the server has it.
const form = document.querySelector("form.visit");
const state = document.getElementById("save-state");
const key = `gaiter-unsaved-${form.dataset.visit}`;
const pending = new Map(JSON.parse(localStorage.getItem(key) || "[]"));
const WAIT_MS = 500;
const RETRY_MS = 4000;
let timer;
let sending = false;

// A few boxes stand beside the decision, outside the form.
const boxOf = (path) => document.querySelector(`.box[data-path="${CSS.escape(path)}"]`);

function say(kind) {
  state.textContent = state.dataset[kind];
  state.className = `save-state ${kind === "unsaved" ? "unsaved" : kind === "problem" ? "problem" : ""}`;
}

function keep() {
  if (pending.size) localStorage.setItem(key, JSON.stringify([...pending]));
  else localStorage.removeItem(key);
}

function read(box) {
  const inputs = [...box.querySelectorAll("input, select, textarea")].filter((i) => i.name === box.dataset.path);
  if (box.dataset.kind === "many") return inputs.filter((i) => i.checked).map((i) => i.value);
  if (inputs[0].type === "radio") return inputs.find((i) => i.checked)?.value ?? "";
  return inputs[0].value;
}

function write(box, text) {
  for (const input of box.querySelectorAll("input, select, textarea")) {
    if (input.name !== box.dataset.path) continue;
    if (input.type === "radio") input.checked = input.value === text;
    else if (input.type === "checkbox") input.checked = text.includes(input.value);
    else input.value = text;
  }
}

function problem(box, sentence) {
  const note = box.querySelector(":scope > .error");
  note.textContent = sentence || "";
  note.hidden = !sentence;
  box.classList.toggle("wrong", Boolean(sentence));
  for (const input of box.querySelectorAll("input, select, textarea"))
    if (sentence) input.setAttribute("aria-invalid", "true"); else input.removeAttribute("aria-invalid");
}

function settleForms(root) {
  for (const template of root.querySelectorAll("template[data-form]")) {
    if (document.getElementById(template.dataset.form)) continue;
    const made = document.createElement("form");
    Object.assign(made, { id: template.dataset.form, method: "post", action: template.dataset.action });
    document.body.append(made);
  }
}

async function send({ keepalive = false } = {}) {
  if (sending || !pending.size) return;
  sending = true;
  say("saving");
  const batch = [...pending].map(([path, text]) => ({ path, text, base: Number(boxOf(path)?.dataset.base ?? 0) }));
  let answer;
  try {
    const response = await fetch(form.dataset.save, {
      method: "POST", keepalive, body: JSON.stringify({ entries: batch }),
      headers: { "Content-Type": "application/json", Accept: "application/json", "X-CSRFToken": form.csrfmiddlewaretoken.value },
    });
    answer = await response.json();
    if (response.status === 401 || response.status === 423) {
      keep();
      location.href = `${answer.gone}?next=${encodeURIComponent(location.pathname)}`;
      return;
    }
    if (!response.ok) throw new Error(answer.problem || String(response.status));
  } catch {
    sending = false;
    say("unsaved");
    setTimeout(send, RETRY_MS);
    return;
  }
  sending = false;
  for (const { path, entry, clash, html } of answer.saved) {
    const box = boxOf(path);
    const sent = batch.find((b) => b.path === path);
    if (JSON.stringify(pending.get(path)) === JSON.stringify(sent.text)) pending.delete(path);
    if (!box) continue;
    box.dataset.base = entry;
    problem(box, "");
    if (clash) { box.querySelector(".clash").innerHTML = html; settleForms(box); }
  }
  for (const { path, problem: sentence } of answer.problems) {
    const box = boxOf(path);
    const sent = batch.find((b) => b.path === path);
    // Kept on screen for its typist; nothing wrong is sent twice.
    if (JSON.stringify(pending.get(path)) === JSON.stringify(sent.text)) pending.delete(path);
    if (box) problem(box, sentence);
  }
  keep();
  say(form.querySelector(".box.wrong") ? "problem" : "saved");
  if (pending.size) schedule(); else refresh();
}

// Each part of the page that follows the boxes is replaced by itself; never one that is in use.
async function refresh() {
  const response = await fetch(form.dataset.live);
  if (!response.ok || response.redirected) return;
  const answer = document.createElement("template");
  answer.innerHTML = await response.text();
  for (const part of answer.content.querySelectorAll("[data-part]")) {
    const slot = document.querySelector(`[data-slot="${part.dataset.part}"]`);
    if (!slot || slot.contains(document.activeElement) || slot.querySelector("details[open] form")) continue;
    if (slot.innerHTML.trim() !== part.innerHTML.trim()) slot.innerHTML = part.innerHTML;
  }
  const asked = new Map([...answer.content.querySelectorAll("[data-asked]")].map((a) => [a.dataset.asked, a.innerHTML]));
  for (const box of form.querySelectorAll(".box"))
    box.querySelector(":scope > .asked").innerHTML = asked.get(box.dataset.path) ?? "";
}

// What is asked only after another answer opens with it.
const NOTHING_FOUND = ["", "no", "none", "0"];

function opened(element) {
  const on = (element.dataset.opensOn || "").split(" ").filter(Boolean);
  return element.dataset.openedBy.split(" ").some((path) => {
    const parent = boxOf(path);
    const value = parent ? read(parent) || parent.dataset.counts : "";
    return on.length ? on.includes(value) : !NOTHING_FOUND.includes(value);
  });
}

function openWhatIsAsked() {
  for (const element of document.querySelectorAll("[data-opened-by]")) {
    if (element.matches("details")) element.open ||= opened(element);
    else element.hidden = !opened(element) && read(element) === "";
  }
}

function schedule() { clearTimeout(timer); timer = setTimeout(send, WAIT_MS); }

document.addEventListener("input", (event) => {
  const box = event.target.closest(".box");
  if (!box) return;
  // "none" and a named choice exclude each other.
  if (box.dataset.kind === "many" && event.target.checked)
    for (const other of box.querySelectorAll("input"))
      if ((event.target.value === "none") !== (other.value === "none")) other.checked = false;
  pending.set(box.dataset.path, read(box));
  keep();
  say("saving");
  if (read(box).length) box.classList.remove("again");
  openWhatIsAsked();
  schedule();
});
async function saveAll() {
  for (let tries = 0; pending.size && tries < 20; tries += 1) {
    await send();
    if (pending.size) await new Promise((done) => { setTimeout(done, 200); });
  }
  if (pending.size) say("unsaved");
  return !pending.size;
}

// A form that acts on the visit waits until everything typed before it is saved.
document.addEventListener("submit", async (event) => {
  if (event.target === form) event.preventDefault();
  if (!event.target.matches("[data-after-save]") || !pending.size) return;
  event.preventDefault();
  if (await saveAll()) event.target.submit();
});
// So does a link of the work: plan, bandage and check must never lag behind what was just ticked.
// The bar above the work always opens, whatever the connection does.
document.addEventListener("click", async (event) => {
  const link = event.target.closest("main a[href]");
  if (!pending.size || !link || link.getAttribute("href").startsWith("#")) return;
  if (event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  if (await saveAll()) location.href = link.href;
});
addEventListener("online", () => send());
addEventListener("gaiter:lock", () => send({ keepalive: true }));
addEventListener("pagehide", () => send({ keepalive: true }));

// What was typed before this script ran counts like what is typed after.
function changedBefore(input) {
  if (input.name === "" || input.type === "hidden") return false;
  if (input.type === "radio" || input.type === "checkbox") return input.checked !== input.defaultChecked;
  if (input.tagName !== "SELECT") return input.value !== input.defaultValue;
  const given = [...input.options].find((option) => option.defaultSelected) ?? input.options[0];
  return input.value !== given.value;
}

settleForms(document);
for (const input of form.querySelectorAll(".box input, .box select, .box textarea")) {
  const box = input.closest(".box");
  if (input.name === box.dataset.path && changedBefore(input)) pending.set(box.dataset.path, read(box));
}
for (const [path, text] of pending) { const box = boxOf(path); if (box) write(box, text); }
openWhatIsAsked();
if (pending.size) send();
