// Sends what waits, box by box; what cannot be sent waits on and is tried again.
import { boxOf, fault, form } from "./boxes.js";
import { makeForms } from "./clash.js";
import { say } from "./state.js";
import { forget, keep, pending } from "./unsaved.js";

/** @typedef {{ path: string, entry: number, clash: boolean, html: string }} Saved */
/** @typedef {{ path: string, problem: string }} Problem */
/** @typedef {{ saved: Saved[], problems: Problem[], gone?: string, problem?: string }} Reply */
/** @typedef {{ path: string, text: import("./boxes.js").Answer, base: number }} Sent */

const WAIT_MS = 500;
const RETRY_MS = 4000;
/** @type {ReturnType<typeof setTimeout> | undefined} */
let timer;
let sending = false;

/** Sends after half a second without another answer. */
export function schedule() {
  clearTimeout(timer);
  timer = setTimeout(send, WAIT_MS);
}

/**
 * Sends everything that waits.
 *
 * @param {{ keepalive?: boolean }} [options] Whether it goes on when the page is left.
 * @returns {Promise<void>}
 */
export async function send({ keepalive = false } = {}) {
  if (sending || !pending.size) return;
  sending = true;
  say("saving");
  const sent = [...pending].map(([path, text]) => {
    return { path, text, base: Number(boxOf(path)?.dataset.base ?? 0) };
  });
  /** @type {Reply} */
  let reply;
  try {
    const response = await post(sent, keepalive);
    reply = await response.json();
    if (response.status === 401 || response.status === 423) {
      keep();
      location.href = `${reply.gone}?next=${encodeURIComponent(location.pathname)}`;
      return;
    }
    if (!response.ok) throw new Error(reply.problem || String(response.status));
  } catch {
    sending = false;
    say("unsaved");
    setTimeout(send, RETRY_MS);
    return;
  }
  sending = false;
  take(reply, sent);
  keep();
  say(form.querySelector(".box.wrong") ? "problem" : "saved");
  if (pending.size) schedule();
  else dispatchEvent(new Event("gaiter:saved"));
}

/**
 * Sends until nothing waits; gives up after some seconds.
 *
 * @returns {Promise<boolean>} Whether everything is saved.
 */
export async function saveAll() {
  for (let tries = 0; pending.size && tries < 20; tries += 1) {
    await send();
    if (pending.size) await new Promise((done) => { setTimeout(done, 200); });
  }
  if (pending.size) say("unsaved");
  return !pending.size;
}

/**
 * @param {Sent[]} entries
 * @param {boolean} keepalive
 * @returns {Promise<Response>}
 */
function post(entries, keepalive) {
  return fetch(form.dataset.save ?? "", {
    method: "POST",
    keepalive,
    body: JSON.stringify({ entries }),
    headers: {
      "Content-Type": "application/json",
      Accept: "application/json",
      "X-CSRFToken": form.csrfmiddlewaretoken.value,
    },
  });
}

/**
 * Takes in what the server answered to what was sent.
 *
 * @param {Reply} reply
 * @param {Sent[]} sent
 */
function take(reply, sent) {
  const answers = new Map(sent.map(({ path, text }) => [path, text]));
  for (const { path, entry, clash, html } of reply.saved) {
    const box = boxOf(path);
    forget(path, answers.get(path));
    if (!box) continue;
    box.dataset.base = String(entry);
    fault(box, "");
    const place = box.querySelector(".clash");
    if (clash && place) {
      place.innerHTML = html;
      makeForms(box);
    }
  }
  for (const { path, problem } of reply.problems) {
    const box = boxOf(path);
    // Kept on screen for its typist; nothing wrong is sent twice.
    forget(path, answers.get(path));
    if (box) fault(box, problem);
  }
}
