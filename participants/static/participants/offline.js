"use strict";
// A participant's pages without a network: keeps them, says what the person looks at, sends forms that waited.
(() => {
  const meta = (name) => document.querySelector(`meta[name="${name}"]`)?.content ?? "";
  const person = meta("person"), edition = meta("edition"), zone = meta("site-zone");
  const servedAt = new Date(meta("served-at"));
  const bar = document.getElementById("phone-state");
  if (!person || !bar) return;
  const CLOCK_SLACK_MS = 120000;
  const lines = new Map();
  let csrf = "";

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
      return tellQueue();
    }
    if (answer.redirected || !answer.ok) {
      const link = Object.assign(document.createElement("a"), { href: "/in/", textContent: "Get a link" });
      say("network", "You are signed out on this device.", [link]);
      return tellQueue();
    }
    const said = await answer.json();
    if (said.person !== person) return undefined;
    csrf = said.csrf;
    checkClock(said.now, before, Date.now());
    showNextTurn();
    say("network", "");
    if (said.edition !== edition) newer();
    askForPack(said);
    const sent = await formQueue.flush(person, csrf).catch(() => []);
    if (sent.length) say("sent", `Sent: ${sent.join(", ")}.`, [button("Close", () => say("sent", ""))]);
    return tellQueue();
  }

  // What is on the screen is of an older edition. Nobody should act on it: load it anew unless something is typed.
  function newer() {
    const again = () => location.reload();
    const key = `newer ${location.pathname}`, last = Number(sessionStorage.getItem(key) ?? 0);
    const typed = document.querySelector("form.form-narrow");
    if (!typed && Date.now() - last > 30000) {
      sessionStorage.setItem(key, String(Date.now()));
      again();
    } else {
      say("newer", "Something changed since this page was kept.", [button("Show it", again)]);
    }
  }

  async function askForPack(said) {
    if (!navigator.serviceWorker) return;
    const worker = (await navigator.serviceWorker.ready).active;
    const loaded = performance.getEntriesByType("resource").map((entry) => entry.name);
    const linked = [...document.querySelectorAll("link[href], script[src]")].map((node) => node.href || node.src);
    const assets = [...new Set([...loaded, ...linked])].filter((address) => new URL(address).pathname.startsWith("/static/"));
    worker?.postMessage({ kind: "pack", person, edition: said.edition, paths: said.paths, assets });
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
  }

  function tellRefused(entry) {
    const open = Object.assign(document.createElement("a"), { href: entry.page, textContent: "Open and correct it" });
    const drop = button("Throw it away", async () => {
      await formQueue.remove(entry.client_uuid);
      say(entry.client_uuid, "");
    });
    say(entry.client_uuid, `Not taken: ${entry.name}. ${entry.errors.join(" ")}`, [open, drop]);
  }

  // What waits is shown in its form as it was typed.
  async function refill() {
    const forms = await formQueue.all().catch(() => []);
    for (const form of document.querySelectorAll("form[data-queue]")) {
      const entry = forms.find((one) => one.person === person && one.page === location.pathname && one.kind === form.dataset.queue);
      if (!entry) continue;
      for (const field of form.elements) {
        if (!field.name || field.type === "hidden") continue;
        const values = entry.fields.filter(([name]) => name === field.name).map(([, value]) => value);
        if (["checkbox", "radio"].includes(field.type)) field.checked = values.includes(field.value);
        else if (values.length) [field.value] = values;
      }
    }
  }

  async function submitted(event) {
    const form = event.target.closest("form[data-queue]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    try {
      const answer = await fetch(`/my/${person}/pack.json`, { cache: "no-store", signal: AbortSignal.timeout(4000) });
      const said = await answer.json();
      if (said.person !== person) throw new Error("somebody else is signed in");
      const token = form.querySelector("[name=csrfmiddlewaretoken]");
      if (token) token.value = said.csrf;
      for (const entry of await formQueue.all()) {
        if (entry.person === person && entry.kind === form.dataset.queue) await formQueue.remove(entry.client_uuid);
      }
      form.dataset.native = "yes";
      form.requestSubmit();
    } catch {
      try {
        await formQueue.add(form, person);
        say("kept", `${form.dataset.queueName}: kept on this phone, sent when there is a network.`, [button("Close", () => say("kept", ""))]);
        await tellQueue();
      } catch {
        say("kept", "This browser keeps nothing: note down what you typed and send it when there is a network.");
      }
    }
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
