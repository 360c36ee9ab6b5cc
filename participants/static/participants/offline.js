"use strict";
// A participant's pages without a network: keeps them, says what the person looks at, sends forms that waited.
(() => {
  const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";
  const person = meta("person"), edition = meta("edition"), zone = meta("site-zone");
  const servedAt = new Date(meta("served-at"));
  const bar = document.getElementById("phone-state");
  if (!person || !bar) return;
  const CLOCK_SLACK_MS = 120000;
  const lines = new Map(), arrived = [];
  let csrf = "", typed = false;

  function say(key, text, buttons = []) {
    if (text) lines.set(key, { text, buttons });
    else lines.delete(key);
    bar.replaceChildren(...[...lines.values()].map(({ text: words, buttons: list }) => {
      const line = document.createElement("p");
      line.append(words, " ", ...list);
      return line;
    }));
    bar.hidden = lines.size === 0;
  }

  function button(label, work) {
    const made = document.createElement("button");
    made.type = "button";
    made.className = "btn btn-secondary btn-sm";
    made.textContent = label;
    made.addEventListener("click", work);
    return made;
  }

  const clock = (moment) => new Intl.DateTimeFormat("en-GB", {
    weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", timeZone: zone || undefined,
  }).format(moment);

  // --- The clock of the phone, as the server last knew it ----------------------------------------------------------
  const clockOffset = () => { try { return Number(localStorage.getItem("clock-offset") ?? 0); } catch { return 0; } };
  const now = () => Date.now() + clockOffset();

  function checkClock(serverNow, before, after) {
    const offset = new Date(serverNow).getTime() - (before + after) / 2;
    try { localStorage.setItem("clock-offset", String(Math.round(offset))); } catch { /* nothing is kept then */ }
    tellClock();
  }

  function tellClock() {
    const off = clockOffset(), minutes = Math.round(Math.abs(off) / 60000);
    const far = Math.abs(off) > CLOCK_SLACK_MS;
    say("clock", far ? `The clock of this phone is ${minutes} min ${off > 0 ? "behind" : "ahead"}. The times on this page are right.` : "");
    if (far || !zone) return;
    const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const shown = (name) => new Intl.DateTimeFormat("en-GB", { dateStyle: "short", timeStyle: "short", timeZone: name }).format(servedAt);
    if (here && shown(here) !== shown(zone)) say("clock", `This phone shows the time of ${here}; the times here are those of ${zone}.`);
  }

  // --- The next turn, also on a page that was kept since yesterday --------------------------------------------------
  function showNextTurn() {
    const box = document.querySelector("[data-next]");
    const turns = [...document.querySelectorAll("details[data-turn]")];
    if (!box || !turns.length) return;
    const next = turns.find((turn) => new Date(turn.dataset.endsAt).getTime() > now());
    const shown = box.querySelector("[data-next-turn]");
    if (!shown || (next?.id ?? "") === (shown.dataset.nextTurn ?? "")) return;
    const card = document.createElement(next ? "details" : "p");
    card.dataset.nextTurn = next?.id ?? "";
    if (next) {
      card.className = "turn turn-next";
      card.open = true;
      for (const node of next.children) card.append(node.cloneNode(true));
    } else {
      card.textContent = "No turn is ahead of you.";
    }
    shown.replaceWith(card);
  }

  // --- Contact with the server --------------------------------------------------------------------------------------
  async function contact() {
    const before = Date.now();
    let answer;
    try {
      answer = await fetch(`/my/${person}/pack.json`, { cache: "no-store", signal: AbortSignal.timeout(6000) });
    } catch {
      say("network", `No network: this copy is of ${clock(servedAt)}.`, [button("Try again", contact)]);
      showOffline(true);
      return tellQueue();
    }
    if (answer.redirected || !answer.ok) {
      say("network", "You are signed out on this device.", [link("/in/", "Get a link")]);
      return tellQueue();
    }
    const said = await answer.json();
    if (said.person !== person) return undefined;
    csrf = said.csrf;
    checkClock(said.now, before, Date.now());
    showNextTurn();
    say("network", "");
    showOffline(false);
    if (said.edition !== edition) newer();
    askForPack(said);
    const sent = await formQueue.flush(person, csrf).catch(() => []);
    if (sent.length) tellSent(sent);
    return tellQueue();
  }

  function tellSent(names) {
    arrived.push(...names);
    const close = button("Close", () => { arrived.length = 0; say("sent", ""); });
    const anew = document.querySelector("[data-queue-list]") ? [button("Show the list anew", () => location.reload()), " "] : [];
    say("sent", `Sent: ${arrived.join(", ")}.`, [...anew, close]);
  }

  // What is on the screen is of an older edition. Nobody should act on it: load it anew unless something is typed.
  function newer() {
    const again = () => location.reload();
    const key = `newer ${location.pathname}`, last = Number(sessionStorage.getItem(key) ?? 0);
    if (!typed && Date.now() - last > 30000) {
      sessionStorage.setItem(key, String(Date.now()));
      again();
    } else {
      say("newer", "Something changed since this page was kept.", [button("Show it", again)]);
    }
  }

  // What a page has to say only while there is no network.
  function showOffline(offline) {
    document.querySelectorAll("[data-when-offline]").forEach((node) => { node.hidden = !offline; });
  }

  // What a kit does in the hides is computed by the server: without it the old answer must not stand beside new numbers.
  function showUntried({ target }) {
    const verdicts = document.getElementById("verdicts");
    if (!verdicts || !target.closest("form")) return;
    verdicts.replaceChildren(Object.assign(document.createElement("p"), { textContent: "What this does in the hides is shown when there is a network. You can save it now." }));
  }

  async function askForPack(said) {
    if (!navigator.serviceWorker) return;
    const worker = (await navigator.serviceWorker.ready).active;
    const loaded = performance.getEntriesByType("resource").map((entry) => entry.name);
    const linked = [...document.querySelectorAll("link[href], script[src]")].map((node) => node.href || node.src);
    const assets = [...new Set([...loaded, ...linked, ...said.assets.map((path) => new URL(path, location.href).href)])].filter((address) => new URL(address).pathname.startsWith("/static/"));
    worker?.postMessage({ kind: "pack", person, edition: said.edition, kit: said.kit, paths: said.paths, assets });
  }

  // --- Forms --------------------------------------------------------------------------------------------------------
  async function tellQueue() {
    const forms = await formQueue.all().catch(() => []);
    const own = forms.filter((entry) => entry.person === person);
    const waiting = own.filter((entry) => !entry.errors.length), refused = own.filter((entry) => entry.errors.length);
    const names = (list) => list.map((entry) => entry.name).join(", ");
    say("waiting", waiting.length ? `Waits for a network: ${names(waiting)}.` : "");
    say("foreign", forms.length > own.length ? "A form of somebody else waits on this device and is not sent." : "");
    for (const entry of refused) tellRefused(entry);
    const opened = waiting.find(isOpened);
    say("opened", opened ? "This waits for a network: change it here, or" : "", opened ? [dropButton(opened, "Take it back")] : []);
    markWaiting(own);
  }

  const isOpened = (entry) => entry.client_uuid === formQueue.openedFrom() && [entry.page, entry.elsewhere].includes(location.pathname);

  function link(address, text) {
    return Object.assign(document.createElement("a"), { href: address, textContent: text });
  }

  function dropButton(entry, label) {
    return button(label, async () => {
      await formQueue.remove(entry.client_uuid);
      say(entry.client_uuid, "");
      await tellQueue();
    });
  }

  function tellRefused(entry) {
    const page = entry.gone ? entry.elsewhere : entry.page;
    const open = page ? [link(`${page}#${entry.client_uuid}`, entry.gone ? "Add it as a new one" : "Open and correct it"), " "] : [];
    say(entry.client_uuid, `Not taken: ${entry.name}. ${entry.errors.join(" ")}`, [...open, dropButton(entry, "Throw it away")]);
  }

  // Lists say beside each thing what waits for it, and hold what is new.
  function markWaiting(own) {
    document.querySelectorAll("[data-waits]").forEach((node) => node.remove());
    const sign = (entry) => Object.assign(document.createElement("span"), {
      className: "sign sign-care", textContent: entry.errors.length ? "not taken" : "waits for a network",
    });
    for (const entry of own) {
      for (const list of document.querySelectorAll("[data-queue-list]")) {
        if (list.dataset.queueList !== entry.kind) continue;
        const item = document.createElement("li");
        item.append(link(`${entry.page}#${entry.client_uuid}`, entry.name), " ", sign(entry));
        item.dataset.waits = "";
        list.append(item);
      }
      for (const item of document.querySelectorAll("[data-queue-item]")) {
        if (item.dataset.queueItem !== entry.kind) continue;
        const mark = sign(entry);
        mark.dataset.waits = "";
        item.append(" ", mark);
      }
    }
  }

  // What waits is shown in its form as it was typed.
  async function refill() {
    const forms = await formQueue.all().catch(() => []);
    const own = forms.filter((one) => one.person === person), opened = own.find(isOpened);
    for (const form of document.querySelectorAll("form[data-queue]")) {
      const waits = "queueEach" in form.dataset ? undefined : own.find((one) => one.page === location.pathname && one.kind === form.dataset.queue);
      const entry = opened ?? waits;
      if (!entry) continue;
      typed = true;
      for (const field of form.elements) {
        if (!field.name || field.type === "hidden") continue;
        const values = entry.fields.filter(([name]) => name === field.name).map(([, value]) => value);
        if (["checkbox", "radio"].includes(field.type)) field.checked = values.includes(field.value);
        else if (values.length) [field.value] = values;
      }
    }
  }

  // A fresh form token; null without a network, or when this person is not signed in here.
  async function freshToken() {
    try {
      const answer = await fetch(`/my/${person}/pack.json`, { cache: "no-store", signal: AbortSignal.timeout(4000) });
      const said = await answer.json();
      return said.person === person ? said.csrf : null;
    } catch {
      return null;
    }
  }

  function sendNatively(form, submitter, token) {
    const field = form.querySelector("[name=csrfmiddlewaretoken]");
    if (field && token) field.value = token;
    form.dataset.native = "yes";
    form.requestSubmit(submitter);
    delete form.dataset.native; // the page may stay: a download, or the way back to it
  }

  // Each form is kept first and sent from there, so that a network that breaks off in between loses nothing and
  // a second press sends nothing twice. What the server will not take comes back as a page with the reasons.
  async function submitted(event) {
    const form = event.target.closest("form[data-queue]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    try {
      const entry = await formQueue.add(form, person, event.submitter);
      form.dataset.busy = entry.client_uuid;
      const token = await freshToken();
      const outcome = token ? await formQueue.send(entry, token, "now") : "waiting";
      if (outcome === "sent") return;
      if (outcome === "waiting") await leaveWaiting(form, entry);
      else await showReasons(form, entry, event.submitter, token);
    } catch {
      sendNatively(form, event.submitter, ""); // this browser keeps nothing
    }
    delete form.dataset.busy;
  }

  async function leaveWaiting(form, entry) {
    const next = form.dataset.queueNext;
    if (next && window.caches && (await caches.match(next, { ignoreVary: true }))) {
      location.assign(next);
      return;
    }
    if ("queueEach" in form.dataset) history.replaceState(null, "", `#${entry.client_uuid}`);
    say("kept", `${entry.name}: kept on this phone, sent when there is a network.`, [button("Close", () => say("kept", ""))]);
    await tellQueue();
  }

  async function showReasons(form, entry, submitter, token) {
    const left = (await formQueue.all()).find((one) => one.client_uuid === entry.client_uuid);
    if (left?.gone) return tellQueue();
    await formQueue.remove(entry.client_uuid);
    return sendNatively(form, submitter, token);
  }

  function goOn({ detail: { entry, said } }) {
    if (!document.querySelector(`form[data-busy="${entry.client_uuid}"]`)) return;
    location.assign(said.next ?? location.pathname);
  }

  // A form that cannot wait (a file, a health note, a new address) says so and stays as it is.
  async function submittedOnline(event) {
    const form = event.target.closest("form[data-online]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    const token = await freshToken();
    if (token) sendNatively(form, event.submitter, token);
    else say("online", `No network: nothing was sent. ${form.dataset.online}`, [button("Close", () => say("online", ""))]);
  }

  // --- Signing out empties the device first, with or without a network ------------------------------------------------
  async function signOut(event) {
    const form = event.target.closest("form[data-sign-out]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    const waiting = (await formQueue.all().catch(() => [])).length;
    if (waiting && !confirm(`${waiting === 1 ? "A form has" : `${waiting} forms have`} not been sent and will be lost. Sign out?`)) return;
    if (window.caches) await Promise.all((await caches.keys()).map((name) => caches.delete(name)));
    indexedDB.deleteDatabase("fairhide");
    for (const worker of await navigator.serviceWorker?.getRegistrations() ?? []) await worker.unregister();
    try {
      const token = csrf || form.querySelector("[name=csrfmiddlewaretoken]").value;
      await fetch(form.action, { method: "POST", headers: { "X-CSRFToken": token } });
      location.replace("/in/");
    } catch {
      document.getElementById("main").replaceChildren(
        Object.assign(document.createElement("h1"), { textContent: "This device is empty" }),
        Object.assign(document.createElement("p"), { textContent: "Your pages are gone from it. Without a network the sign-out itself could not be sent: sign out again when there is one." }),
      );
      document.querySelector("nav")?.remove();
    }
  }

  document.addEventListener("submit", submitted);
  document.addEventListener("submit", submittedOnline);
  document.addEventListener("queue-sent", goOn);
  document.addEventListener("input", () => { typed = true; });
  document.addEventListener("htmx:sendError", showUntried);
  window.addEventListener("pageshow", ({ persisted }) => {
    if (persisted) document.querySelectorAll("form[data-busy]").forEach((form) => { delete form.dataset.busy; });
  });
  window.addEventListener("hashchange", () => { if (/^#[0-9a-f-]{36}$/.test(location.hash)) location.reload(); });
  document.addEventListener("submit", signOut);
  window.addEventListener("online", contact);
  navigator.serviceWorker?.addEventListener("message", ({ data }) => {
    if (data.kind === "pack-state") document.documentElement.dataset.pack = data.complete ? data.edition : "";
  });
  navigator.serviceWorker?.register("/service-worker.js").catch(() => { /* the pages work without it */ });
  tellClock();
  showNextTurn();
  refill();
  contact();
})();
