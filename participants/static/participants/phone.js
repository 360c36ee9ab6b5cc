// What the scripts of a participant's page share: whose page it is, the lines of state, the server's word.
import { line, meta } from "./parts.js";

const PATIENCE_MS = 10000;
const bar = document.getElementById("phone-state");
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
  bar.replaceChildren(...[...lines.values()].map((one) => line(one.text, one.controls)));
  bar.hidden = lines.size === 0;
}

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
