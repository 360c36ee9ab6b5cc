"use strict";
// Forms that were filled without a network: kept in the browser under the person's uuid, sent later, once each.
const formQueue = (() => {
  const PATIENCE_MS = 15000;
  const open = () => new Promise((resolve, reject) => {
    const asked = indexedDB.open("fairhide", 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore("forms", { keyPath: "client_uuid" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
  const store = async (mode, work) => {
    const database = await open();
    try {
      return await new Promise((resolve, reject) => {
        const asked = work(database.transaction("forms", mode).objectStore("forms"));
        asked.onsuccess = () => resolve(asked.result);
        asked.onerror = () => reject(asked.error);
      });
    } finally {
      database.close();
    }
  };
  const oldestFirst = (forms) => forms.sort((one, other) => one.queued_at.localeCompare(other.queued_at));
  const get = (uuid) => store("readonly", (forms) => forms.get(uuid));
  const all = async () => oldestFirst(await store("readonly", (forms) => forms.getAll()));
  const put = (form) => store("readwrite", (forms) => forms.put(form));
  const remove = (uuid) => store("readwrite", (forms) => forms.delete(uuid));

  // The uuid in the address when a form was opened from what waits: sending it takes the place of that one.
  const openedFrom = () => location.hash.slice(1);

  // The trip that a form is about, in its hidden field: the same page is about another trip when one is over.
  const tripOf = (form) => form.elements.trip?.value ?? "";

  // What people call a form: the name typed in it, else its pattern with what was typed ("Lens, {focal_min_mm} mm").
  function nameOf(form) {
    const shown = (field) => (field?.selectedOptions ? field.selectedOptions[0]?.textContent : field?.value)?.trim() ?? "";
    const pattern = form.dataset.queueName;
    if (!pattern.includes("{")) return pattern;
    return shown(form.elements.name) || pattern.replace(/\{(\w+)\}/g, (_, name) => shown(form.elements[name]) || "…");
  }

  // One waits per kind, trip and address; of a form with data-queue-each every one, with data-queue-one one per kind.
  function replaces(form, entry, older) {
    if (older.client_uuid === entry.client_uuid || older.person !== entry.person) return false;
    if (older.client_uuid === openedFrom()) return true;
    if ("queueEach" in form.dataset || older.kind !== entry.kind || (older.trip ?? "") !== entry.trip) return false;
    return older.path === entry.path || "queueOne" in form.dataset;
  }

  // Keeps a form. `row_uuid` names what a form with data-queue-each makes: changed while it waits, it makes that and no
  // second one, also where it had reached the server and only the answer was lost.
  async function add(form, person, button) {
    const fields = [...new FormData(form)].filter(([name, value]) => name !== "csrfmiddlewaretoken" && typeof value === "string");
    if (button?.name) fields.push([button.name, button.value]);
    const path = new URL(form.getAttribute("action") || location.href, location.href);
    const entry = {
      client_uuid: crypto.randomUUID(), person, page: form.dataset.queuePage ?? location.pathname + location.search,
      path: path.pathname + path.search, trip: tripOf(form), kind: form.dataset.queue, name: nameOf(form),
      elsewhere: form.dataset.queueElsewhere, fields, errors: [], queued_at: new Date().toISOString(),
    };
    const replaced = (await all()).filter((older) => replaces(form, entry, older));
    if ("queueEach" in form.dataset) entry.row_uuid = replaced.find((older) => older.row_uuid)?.row_uuid ?? crypto.randomUUID();
    await put(entry);
    for (const older of replaced) await remove(older.client_uuid);
    return entry;
  }

  // How long it waited, by the device's own clock, whose hour may be wrong.
  const waited = (entry) => String(Math.max(0, Math.round((Date.now() - Date.parse(entry.queued_at)) / 1000)));

  const refuse = async (entry, why) => { if (await get(entry.client_uuid)) await put({ ...entry, ...why }); };

  // One form; the answer says what it `is`: "sent", "refused" (with the reasons kept, and the page that shows them where
  // somebody waits for it), "away" (no network, or an answer cut short) or "ill" (the server does not take it now).
  // `mode`: "now" while somebody waits for the answer.
  async function send(entry, csrf, mode = "1") {
    const body = new URLSearchParams(entry.fields);
    body.set("client_uuid", entry.client_uuid);
    if (entry.row_uuid) body.set("row_uuid", entry.row_uuid);
    const headers = { "X-CSRFToken": csrf, "X-Queued": mode, "X-Queued-Seconds": waited(entry) };
    let answer, said;
    try {
      answer = await fetch(entry.path, { method: "POST", body, redirect: "manual", headers, signal: AbortSignal.timeout(PATIENCE_MS) });
      if (answer.ok) said = await answer.json();
    } catch {
      return { is: "away" };
    }
    if (answer.status === 404) {
      await refuse(entry, { gone: true, errors: ["What this was about is no longer there."] });
      return { is: "refused" };
    }
    if (!answer.ok) return { is: "ill" };
    if (!said.taken) {
      await refuse(entry, { errors: said.errors });
      return { is: "refused", page: said.page };
    }
    await remove(entry.client_uuid);
    document.dispatchEvent(new CustomEvent("queue-sent", { detail: { entry, said } }));
    return { is: "sent" };
  }

  // All forms of this person that wait, but for those that `isBusy` says are being sent by a press. Those of anybody else
  // stay untouched: they are refused here.
  let flushing = Promise.resolve();
  function flush(person, csrf, isBusy = () => false) {
    const next = flushing.catch(() => []).then(() => flushOnce(person, csrf, isBusy)); // one after the other, never side by side
    flushing = next;
    return next;
  }

  // Which forms were sent, and whether the rest `is` still waiting: "away" ends it, since all others would wait as long.
  async function flushOnce(person, csrf, isBusy) {
    const sent = [];
    let is = "sent";
    for (const entry of await all()) {
      if (entry.person !== person || entry.errors.length || isBusy(entry)) continue;
      const outcome = await send(entry, csrf);
      if (outcome.is === "sent") sent.push(entry);
      if (["away", "ill"].includes(outcome.is)) is = outcome.is;
      if (is === "away") break;
    }
    return { sent, is };
  }

  return { all, add, remove, send, flush, openedFrom, tripOf };
})();
