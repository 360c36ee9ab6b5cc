// What the scripts of a participant's page share: whose page it is, the lines of state, the server's word.
import { button, line, made, meta } from "./parts.js";
import { gettext as _ } from "./words.js";

const PATIENCE_MS = 10000;
const bar = document.getElementById("phone-state");
const shown = made("div", { className: "state-lines" });
const fold = button(_("Show"), () => {
  const open = bar.classList.toggle("is-open");
  fold.setAttribute("aria-expanded", String(open));
  fold.textContent = open ? _("Less") : _("Show");
});
bar?.replaceChildren(shown, fold);
const lines = new Map();

export const person = meta("person");
export const zone = meta("site-zone");
export const servedAt = new Date(meta("served-at"));

/** What changes while the page stays: its edition, whether something was typed, how to try the server again. */
export const page = { edition: meta("edition"), typed: false, contact: async () => {} };

/** One line for each key; no text takes it away. */
export function say(key, text, controls = []) {
  if (text) lines.set(key, { text, controls });
  else lines.delete(key);
  shown.replaceChildren(...mostUrgent().map((one) => line(one.text, one.controls)));
  if (bar) bar.hidden = lines.size === 0;
  fold.hidden = lines.size < 2 && !bar?.matches(".is-open") && ![...shown.querySelectorAll("*")].some(isCut);
}

const isCut = (node) => node.scrollWidth > node.clientWidth;

// Folded, the bar shows its first line alone: the clock and the home screen can wait.
const canWait = (key) => key === "clock" || key === "install";
const mostUrgent = () => [...lines].sort(([one], [other]) => canWait(one) - canWait(other)).map(([, said]) => said);

export const says = (key) => lines.has(key);

/**
 * How the server is reached: "here" with what it said (a fresh form token among it), "out" (this person is not signed
 * in here), "ill" (it answers with a fault of its own) or "away" (no network).
 */
export async function ask() {
  try {
    const patience = AbortSignal.timeout(PATIENCE_MS);
    const answer = await fetch(`/my/${person}/pack.json`, { cache: "no-store", signal: patience });
    if (answer.redirected || answer.status === 404) return { is: "out" };
    return answer.ok ? { is: "here", said: await answer.json() } : { is: "ill" };
  } catch {
    return { is: "away" };
  }
}
