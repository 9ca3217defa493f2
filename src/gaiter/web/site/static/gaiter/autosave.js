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

const boxOf = (path) => form.querySelector(`.box[data-path="${CSS.escape(path)}"]`);

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
  if (box.dataset.kind === "answer") return inputs.find((i) => i.checked)?.value ?? "";
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

async function refresh() {
  const live = document.getElementById("live");
  if (live.contains(document.activeElement) || live.querySelector("details[open] form")) return;
  const response = await fetch(form.dataset.live);
  if (response.ok && !response.redirected) live.innerHTML = await response.text();
}

function schedule() { clearTimeout(timer); timer = setTimeout(send, WAIT_MS); }

form.addEventListener("input", (event) => {
  const box = event.target.closest(".box");
  if (!box) return;
  // "none" and a named choice exclude each other.
  if (box.dataset.kind === "many" && event.target.checked)
    for (const other of box.querySelectorAll("input"))
      if ((event.target.value === "none") !== (other.value === "none")) other.checked = false;
  pending.set(box.dataset.path, read(box));
  keep();
  schedule();
});
form.addEventListener("submit", (event) => { if (event.target === form) event.preventDefault(); });
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
if (pending.size) send();
