// Forms that were filled without a network: kept under the uuid of their owner, sent later, once each.
import { formStore } from "./form_store.js";
import { gettext as _ } from "./words.js";

export const STORE_NAME = "fairhide";
const PATIENCE_MS = 15000;

export const oldestFirst = (forms) => forms.sort((one, other) => one.queued_at.localeCompare(other.queued_at));
export const isRefused = (entry) => entry.errors.length > 0;

/** How long a form waited by the device's own clock, whose hour may be wrong. */
export const waitedSeconds = (entry, now) => Math.max(0, Math.round((now - Date.parse(entry.queued_at)) / 1000));

/**
 * Whether a form just filled takes the place of an older one: one waits per kind, trip and address; of a form of which
 * `each` waits every one, of which `one` waits one per kind. `replaced` is the uuid of the form that was opened again.
 */
export function replaces(filled, older) {
  if (older.client_uuid === filled.replaced) return true;
  if (filled.each || older.kind !== filled.kind || (older.trip ?? "") !== filled.trip) return false;
  return filled.one || older.path === filled.path;
}

async function post(entry, headers) {
  const body = new URLSearchParams(entry.fields);
  body.set("client_uuid", entry.client_uuid);
  if (entry.row_uuid) body.set("row_uuid", entry.row_uuid);
  const signal = AbortSignal.timeout(PATIENCE_MS);
  return fetch(entry.path, { method: "POST", body, redirect: "manual", headers, signal });
}

/**
 * The queue of one owner (a participant's or a leader's key). Forms of anybody else in the same store stay untouched:
 * they are never sent from here. `sent(entry, said)` hears of each form that the server took.
 */
export class FormQueue {
  #owner;
  #sent;
  #store;
  #now;
  #flushing = Promise.resolve();

  constructor({ owner, sent = () => {}, store = formStore(STORE_NAME), now = Date.now }) {
    this.#owner = owner;
    this.#sent = sent;
    this.#store = store;
    this.#now = now;
  }

  /** Every form of this browser, the oldest first. */
  async all() {
    return oldestFirst(await this.#store.all());
  }

  /** Those of the owner. */
  async own() {
    return (await this.all()).filter((entry) => entry.person === this.#owner);
  }

  remove(uuid) {
    return this.#store.remove(uuid);
  }

  /**
   * Keeps a form as `filledForm` reads it. `row_uuid` names what a form of which `each` waits makes: changed while it
   * waits, it makes that and no second one, also where it had reached the server and only the answer was lost.
   */
  async add({ replaced, each, one, ...form }) {
    const queuedAt = new Date(this.#now()).toISOString();
    const stamp = { client_uuid: crypto.randomUUID(), person: this.#owner, errors: [], queued_at: queuedAt };
    const entry = { ...form, ...stamp };
    const older = (await this.own()).filter((other) => replaces({ ...form, replaced, each, one }, other));
    if (each) entry.row_uuid = older.find((other) => other.row_uuid)?.row_uuid ?? crypto.randomUUID();
    await this.#store.put(entry);
    for (const other of older) await this.#store.remove(other.client_uuid);
    return entry;
  }

  /**
   * Sends one form; the answer says what it `is`: "sent", "refused" (with the reasons kept, and the page that shows
   * them where somebody waits for it), "away" (no network, or an answer cut short) or "ill" (the server does not take
   * it now).
   * `mode`: "now" while somebody waits for the answer.
   */
  async send(entry, csrf, mode = "1") {
    const waited = String(waitedSeconds(entry, this.#now()));
    let answer, said;
    try {
      answer = await post(entry, { "X-CSRFToken": csrf, "X-Queued": mode, "X-Queued-Seconds": waited });
      if (answer.ok) said = await answer.json();
    } catch {
      return { is: "away" };
    }
    if (answer.status === 404) {
      await this.#refuse(entry, { gone: true, errors: [_("What this was about is no longer there.")] });
      return { is: "refused" };
    }
    if (!answer.ok) return { is: "ill" };
    if (!said.taken) {
      await this.#refuse(entry, { errors: said.errors });
      return { is: "refused", page: said.page };
    }
    await this.#store.remove(entry.client_uuid);
    this.#sent(entry, said);
    return { is: "sent" };
  }

  /** Sends all forms of the owner that wait, but for those that `isBusy` says are being sent by a press. */
  flush(csrf, isBusy = () => false) {
    // One after the other, never side by side.
    this.#flushing = this.#flushing.catch(() => []).then(() => this.#flushOnce(csrf, isBusy));
    return this.#flushing;
  }

  // Which forms were sent, and whether the rest `is` still waiting: "away" ends it, since all others would wait as
  // long.
  async #flushOnce(csrf, isBusy) {
    const arrived = [];
    let is = "sent";
    for (const entry of await this.own()) {
      if (isRefused(entry) || isBusy(entry)) continue;
      const outcome = await this.send(entry, csrf);
      if (outcome.is === "sent") arrived.push(entry);
      if (["away", "ill"].includes(outcome.is)) is = outcome.is;
      if (is === "away") break;
    }
    return { sent: arrived, is };
  }

  async #refuse(entry, why) {
    if (await this.#store.get(entry.client_uuid)) await this.#store.put({ ...entry, ...why });
  }
}
