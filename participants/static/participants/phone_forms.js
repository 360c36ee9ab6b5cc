"use strict";
// A participant's forms: each is kept on the phone first and sent from there; what waits or was refused is told.
const phoneForms = phone.runs && (() => {
  const { person, say, button, link } = phone;
  const WAITS_FOR = { away: "a network", ill: "the server", out: "you to sign in" };
  const SENT_WHEN = { away: "there is a network", ill: "the server answers again", out: "you have signed in again" };
  const NOT_SENT = { away: "No network", ill: "The server does not answer", out: "You are signed out on this device" };
  const arrived = [], sentHere = [];
  let reach = "away"; // how the server was last reached

  // --- What waits and what was refused -------------------------------------------------------------------------------
  async function tell() {
    const forms = await formQueue.all().catch(() => []);
    const own = forms.filter((entry) => entry.person === person);
    const waiting = own.filter((entry) => !entry.errors.length), refused = own.filter((entry) => entry.errors.length);
    const names = waiting.map((entry) => entry.name).join(", ");
    say("waiting", names && `Waits for ${waitsFor()}: ${names}.`, [...sendButton(), ...waiting.map((entry) => takeBack(entry, waiting.length))]);
    say("foreign", forms.length > own.length ? "A form of somebody else waits on this device and is not sent." : "");
    for (const entry of refused) tellRefused(entry);
    say("opened", waiting.some(isOpened) ? "The form on this page is the one that waits: change it here, or take it back." : "");
    markWaiting(own);
  }

  const waitsFor = () => WAITS_FOR[reach] ?? WAITS_FOR.away;
  const sendButton = () => (phone.says("network") ? [] : [button("Send now", () => phone.contact())]);
  const takeBack = (entry, count) => dropButton(entry, count > 1 ? `Take back: ${entry.name}` : "Take it back");
  const isAt = (address) => address && new URL(address, location.href).pathname === location.pathname;
  const isOpened = (entry) => entry.client_uuid === formQueue.openedFrom() && (isAt(entry.page) || isAt(entry.elsewhere));

  // Where a form that is kept is filled in again: its page, about its trip.
  function addressOf(entry, page = entry.page) {
    const address = new URL(page, location.href);
    if (entry.trip) address.searchParams.set("trip", entry.trip);
    return `${address.pathname}${address.search}#${entry.client_uuid}`;
  }

  function dropButton(entry, label) {
    return button(label, async () => {
      await formQueue.remove(entry.client_uuid);
      say(entry.client_uuid, "");
      say("kept", "");
      await tell();
    });
  }

  function tellRefused(entry) {
    const page = entry.gone ? entry.elsewhere : entry.page;
    const open = page ? [link(addressOf(entry, page), entry.gone ? "Add it as a new one" : "Open and correct it")] : [];
    say(entry.client_uuid, `Not taken: ${entry.name}. ${entry.errors.join(" ")}`, [...open, dropButton(entry, "Throw it away")]);
  }

  // Lists say beside each thing what waits for it, and hold what is new.
  function markWaiting(own) {
    document.querySelectorAll("[data-waits]").forEach((node) => node.remove());
    const sign = (entry) => Object.assign(document.createElement("span"), {
      className: "sign sign-care", textContent: entry.errors.length ? "not taken" : `waits for ${waitsFor()}`,
    });
    for (const entry of own) {
      for (const list of document.querySelectorAll("[data-queue-list]")) {
        if (list.dataset.queueList !== entry.kind) continue;
        const item = document.createElement("li");
        item.append(link(addressOf(entry), entry.name), " ", sign(entry));
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
    const own = forms.filter((one) => one.person === person);
    for (const form of document.querySelectorAll("form[data-queue]")) {
      const about = own.filter((one) => (one.trip ?? "") === formQueue.tripOf(form));
      const waits = "queueEach" in form.dataset ? undefined : about.find((one) => isAt(one.page) && one.kind === form.dataset.queue);
      const entry = about.find(isOpened) ?? waits;
      if (entry) fill(form, entry);
    }
  }

  function fill(form, entry) {
    phone.typed = true;
    for (const field of form.elements) {
      if (!field.name || field.type === "hidden") continue;
      const values = entry.fields.filter(([name]) => name === field.name).map(([, value]) => value);
      if (["checkbox", "radio"].includes(field.type)) field.checked = values.includes(field.value);
      else if (values.length) [field.value] = values;
    }
    showUntried({ target: form });
    const tryIt = () => form.dispatchEvent(new Event("change"));
    if (document.readyState === "complete") tryIt();
    else window.addEventListener("load", tryIt);
  }

  // What a kit does in the hides is computed by the server: without it the old answer must not stand beside new numbers.
  function showUntried({ target }) {
    const verdicts = document.getElementById("verdicts");
    if (!verdicts || !target.closest("form")) return;
    verdicts.replaceChildren(Object.assign(document.createElement("p"), { textContent: "What this does in the hides is shown when there is a network. You can save it now." }));
  }

  // --- Sending -------------------------------------------------------------------------------------------------------
  function sendNatively(form, submitter, token) {
    const field = form.querySelector("[name=csrfmiddlewaretoken]");
    if (field && token) field.value = token;
    form.dataset.native = "yes";
    form.requestSubmit(submitter);
    delete form.dataset.native; // the page may stay: a download, or the way back to it
  }

  // Each form is kept first and sent from there, so that a network that breaks off in between loses nothing and
  // a second press sends nothing twice.
  async function submitted(event) {
    const form = event.target.closest("form[data-queue]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    if (form.dataset.busy) return;
    form.dataset.busy = "yes";
    phone.typed = true; // nothing loads the page anew until the answer leads on
    const entry = await formQueue.add(form, person, event.submitter).catch(() => null);
    if (!entry) {
      delete form.dataset.busy;
      sendNatively(form, event.submitter, ""); // this browser keeps nothing
      return;
    }
    form.dataset.busy = entry.client_uuid;
    say("kept", `Sending ${entry.name} …`);
    const outcome = await sendNow(entry);
    if (outcome.is === "sent") return;
    say("kept", "");
    if (outcome.is === "refused") await showReasons(entry, outcome.page);
    else await leaveWaiting(form, entry);
    delete form.dataset.busy;
  }

  async function sendNow(entry) {
    const { is, said } = await phone.ask();
    const outcome = is === "here" ? await formQueue.send(entry, said.csrf, "now").catch(() => ({ is: "away" })) : { is };
    reach = outcome.is;
    return outcome;
  }

  async function leaveWaiting(form, entry) {
    const next = form.dataset.queueNext;
    if (next && window.caches && (await caches.match(next, { ignoreVary: true }))) {
      location.assign(next);
      return;
    }
    if ("queueEach" in form.dataset) history.replaceState(null, "", `#${entry.client_uuid}`);
    say("kept", `${entry.name}: kept on this phone, sent when ${SENT_WHEN[reach]}.`, [button("Close", () => say("kept", ""))]);
    await tell();
  }

  // What the server does not take comes back with the reasons as its page shows them; kept until they stand there.
  async function showReasons(entry, page) {
    const shown = page && parsed(page).getElementById("main");
    if (shown) {
      document.getElementById("main").replaceWith(shown);
      window.htmx?.process(shown);
      phone.typed = true;
      await formQueue.remove(entry.client_uuid);
      (shown.querySelector("[role=alert]") ?? shown).focus();
    }
    await tell();
  }

  const parsed = (text) => new DOMParser().parseFromString(text, "text/html");

  function goOn({ detail: { entry, said } }) {
    if (!document.querySelector(`form[data-busy="${entry.client_uuid}"]`)) return;
    location.assign(said.next ?? location.pathname + location.search);
  }

  const isBusy = (entry) => [...document.querySelectorAll("form[data-busy]")].some((form) => form.dataset.queue === entry.kind);

  // All that waits is sent; the forms of it that stand on this page go on from what the server now has, or are `gone`.
  async function flush(csrf) {
    const { sent, is } = await formQueue.flush(person, csrf, isBusy).catch(() => ({ sent: [], is: "away" }));
    reach = is;
    if (sent.length) tellSent(sent.map((entry) => entry.name));
    sentHere.push(...sent);
    const gone = await renew();
    await tell();
    return { count: sent.length, gone };
  }

  function tellSent(names) {
    arrived.push(...names);
    const close = button("Close", () => { arrived.length = 0; say("sent", ""); });
    const anew = document.querySelector("[data-queue-list]") ? [button("Show the list anew", () => location.reload())] : [];
    say("kept", "");
    say("sent", `Sent: ${arrived.join(", ")}.`, [...anew, close]);
  }

  // Takes over what a form was opened on, so that its next sending is not told that something changed meanwhile.
  async function renew() {
    const isSent = (form) => sentHere.some((entry) => entry.kind === form.dataset.queue && (entry.trip ?? "") === formQueue.tripOf(form));
    const forms = [...document.querySelectorAll("form[data-queue]:not([data-queue-each])")].filter(isSent);
    if (!forms.length) return false;
    const answer = await fetch(location.href, { cache: "no-store", headers: { "X-Pack": "1" } }).catch(() => null);
    if (!answer?.ok) return false; // the next contact tries again
    const page = parsed(await answer.text());
    const pairs = forms.map((form) => [form, page.querySelector(`form[data-queue="${form.dataset.queue}"]`)]);
    for (const [form, fresh] of pairs) {
      for (const field of fresh?.elements ?? []) if (field.name.startsWith("seen")) form.elements[field.name].value = field.value;
    }
    sentHere.length = 0;
    const gone = !pairs.every(([, fresh]) => fresh);
    if (!gone && !phone.says("newer")) phone.edition = phone.meta("edition", page);
    return gone;
  }

  // A form that cannot wait (a file, a health note, a new address) says so and stays as it is.
  async function submittedOnline(event) {
    const form = event.target.closest("form[data-online]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    const { is, said } = await phone.ask();
    if (is === "here") {
      sendNatively(form, event.submitter, said.csrf);
      return;
    }
    const wayIn = is === "out" ? [link("/in/", "Get a link")] : [];
    say("online", `${NOT_SENT[is]}: nothing was sent. ${form.dataset.online}`, [...wayIn, button("Close", () => say("online", ""))]);
  }

  document.addEventListener("submit", submitted);
  document.addEventListener("submit", submittedOnline);
  document.addEventListener("queue-sent", goOn);
  document.addEventListener("input", () => { phone.typed = true; });
  for (const failed of ["htmx:sendError", "htmx:responseError"]) document.addEventListener(failed, showUntried);
  window.addEventListener("pageshow", ({ persisted }) => {
    if (persisted) document.querySelectorAll("form[data-busy]").forEach((form) => { delete form.dataset.busy; });
  });
  window.addEventListener("hashchange", () => { if (/^#[0-9a-f-]{36}$/.test(location.hash)) location.reload(); });
  refill();
  return { flush, tellWithout: (is) => { reach = is; return tell(); } };
})();
