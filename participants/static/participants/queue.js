"use strict";
// Forms that were filled without a network: kept in the browser under the person's uuid, sent later, once each.
const formQueue = (() => {
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
  const all = () => store("readonly", (forms) => forms.getAll());
  const put = (form) => store("readwrite", (forms) => forms.put(form));
  const remove = (uuid) => store("readwrite", (forms) => forms.delete(uuid));

  async function add(form, person, button) {
    const fields = [...new FormData(form)].filter(([name, value]) => name !== "csrfmiddlewaretoken" && typeof value === "string");
    if (button?.name) fields.push([button.name, button.value]);
    const path = new URL(form.getAttribute("action") || location.href, location.href);
    const entry = {
      client_uuid: crypto.randomUUID(), person, page: location.pathname, path: path.pathname + path.search,
      kind: form.dataset.queue, name: form.dataset.queueName, fields, errors: [], queued_at: new Date().toISOString(),
    };
    for (const older of await all()) if (older.kind === entry.kind && older.path === entry.path) await remove(older.client_uuid);
    await put(entry);
    return entry;
  }

  // How long it waited, by the device's own clock, whose hour may be wrong.
  const waited = (entry) => String(Math.max(0, Math.round((Date.now() - Date.parse(entry.queued_at)) / 1000)));
  const oldestFirst = (forms) => forms.sort((one, other) => one.queued_at.localeCompare(other.queued_at));

  // One form: "sent", "waiting" (no network, or signed out) or "refused" (with the reasons kept).
  async function send(entry, csrf) {
    const body = new URLSearchParams(entry.fields);
    body.set("client_uuid", entry.client_uuid);
    let answer;
    try {
      answer = await fetch(entry.path, { method: "POST", body, redirect: "manual", headers: { "X-CSRFToken": csrf, "X-Queued": "1", "X-Queued-Seconds": waited(entry) } });
    } catch {
      return "waiting";
    }
    if (answer.status === 404) {
      await put({ ...entry, errors: ["What this was about is no longer there."] });
      return "refused";
    }
    if (!answer.ok) return "waiting";
    const said = await answer.json();
    if (said.taken) {
      await remove(entry.client_uuid);
      document.dispatchEvent(new CustomEvent("queue-sent", { detail: { entry, said } }));
      return "sent";
    }
    await put({ ...entry, errors: said.errors });
    return "refused";
  }

  // All forms of this person that wait. Those of anybody else stay untouched: they are refused here.
  async function flush(person, csrf) {
    const sent = [];
    for (const entry of oldestFirst(await all())) {
      if (entry.person === person && !entry.errors.length && (await send(entry, csrf)) === "sent") sent.push(entry.name);
    }
    return sent;
  }

  return { all, add, remove, flush };
})();
