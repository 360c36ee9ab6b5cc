"use strict";
// A leader's forms in the field: each is kept in the browser and sent as soon as there is a network, once.
(() => {
  const leader = document.querySelector('meta[name="leader"]')?.content;
  const contactAddress = document.querySelector('meta[name="contact"]')?.content;
  const bar = document.getElementById("queue-state");
  if (!leader || !bar) return;
  const AGAIN_MS = 15000;
  let signedOut = false, renews = false;

  // The clock of the device, or of the form's zone: a site's times are told as clocks there show them.
  const clock = (moment = new Date(), form = null) => new Intl.DateTimeFormat("en-GB", { hour: "2-digit", minute: "2-digit", timeZone: form?.dataset.queueZone }).format(moment);
  const isHere = (entry) => new URL(entry.page, location.href).pathname === location.pathname;
  const formOf = (entry) => document.querySelector(`form[data-queue="${entry.kind}"]`);

  function note(form, ...words) {
    const place = form?.querySelector("[data-note]");
    if (place && (words.length > 1 || place.textContent !== words[0])) place.replaceChildren(...words);
  }

  function button(label, work) {
    const made = Object.assign(document.createElement("button"), { type: "button", className: "btn btn-secondary btn-sm", textContent: label });
    made.addEventListener("click", work);
    return made;
  }

  function dropButton(entry, form, label) {
    return button(label, async () => { await formQueue.remove(entry.client_uuid); note(form, ""); await tell(); });
  }

  async function contact() {
    const answer = await fetch(contactAddress, { cache: "no-store", signal: AbortSignal.timeout(6000) });
    signedOut = answer.redirected;
    if (signedOut || !answer.ok) throw new Error("signed out, or the server does not take forms now");
    const said = await answer.json();
    if (said.leader !== leader) throw new Error("somebody else is signed in");
    return said.csrf;
  }

  async function flush() {
    const own = (await formQueue.all()).filter((entry) => entry.person === leader && !entry.errors.length);
    if (own.length) {
      try {
        await formQueue.flush(leader, await contact());
      } catch { /* no network yet: what waits goes on waiting */ }
    }
    if (renews) document.dispatchEvent(new Event("queue-renew")); // a part of the page; the page stays, network or not
    renews = false;
    await tell();
  }

  async function tell() {
    const forms = (await formQueue.all()).filter((entry) => entry.person === leader);
    forms.sort((one, other) => one.queued_at.localeCompare(other.queued_at));
    const lines = [];
    const waiting = forms.filter((entry) => !entry.errors.length);
    for (const entry of waiting) {
      const form = formOf(entry);
      if (form?.dataset.queueTimed) note(form, `At ${clock(new Date(entry.queued_at), form)}, waits for a network. `, dropButton(entry, form, "Take it back"));
      else note(form, "Kept on this device; sent when there is a network.");
    }
    if (waiting.length) {
      const line = document.createElement("p");
      line.append(`${signedOut ? "You are signed out on this device; sign in and these are sent" : "Waits for a network"}: ${waiting.map((entry) => entry.name).join(", ")}. `, button("Try now", flush));
      lines.push(line);
    }
    for (const entry of forms.filter((one) => one.errors.length)) {
      const said = `Not taken: ${entry.errors.join(" ")}`, form = formOf(entry);
      note(form, said);
      form?.querySelectorAll("[data-when-refused]").forEach((node) => { node.hidden = false; });
      const line = document.createElement("p");
      const open = Object.assign(document.createElement("a"), { href: entry.page, textContent: "Open its page" });
      const drop = dropButton(entry, form, "Throw it away");
      line.append(`${entry.name}. ${said} `, ...(isHere(entry) ? [] : [open, " "]), drop);
      lines.push(line);
    }
    bar.replaceChildren(...lines);
    bar.hidden = !lines.length;
  }

  // Of a form that notes its moment the first tap counts; its name in the list of what waits says when that was.
  async function isFirstTap(form) {
    form.dataset.queueName = `${form.dataset.queueTimed} at ${clock(new Date(), form)}`;
    const waits = (entry) => entry.person === leader && entry.kind === form.dataset.queue && !entry.errors.length;
    return !(await formQueue.all()).some(waits);
  }

  async function submitted(event) {
    const form = event.target.closest("form[data-queue]");
    if (!form || form.dataset.native) return;
    event.preventDefault();
    try {
      if (form.dataset.queueTimed && !(await isFirstTap(form))) return;
      await formQueue.add(form, leader, event.submitter);
    } catch {
      form.dataset.native = "yes"; // this browser keeps nothing: send it the plain way
      form.requestSubmit(event.submitter);
      return;
    }
    note(form, "Kept on this device.");
    await flush();
  }

  // The form goes on from what the server now has: its next sending is not taken for a stale one.
  function sent({ detail: { entry, said } }) {
    const form = formOf(entry);
    if (!form) return;
    note(form, `Saved at ${clock()}.`);
    form.querySelectorAll("[data-when-refused]").forEach((node) => { node.hidden = true; });
    for (const [name, value] of Object.entries(said.fields ?? {})) if (form.elements[name]) form.elements[name].value = value;
    if ("queueReload" in form.dataset) location.reload();
    renews ||= "queueRenew" in form.dataset;
  }

  // What waits is shown in its form as it was typed.
  async function refill() {
    for (const entry of (await formQueue.all()).filter((one) => one.person === leader && isHere(one))) {
      for (const field of formOf(entry)?.elements ?? []) {
        const value = entry.fields.find(([name]) => name === field.name)?.[1];
        if (field.type === "checkbox") field.checked = value !== undefined;
        else if (value !== undefined && !["submit", "button"].includes(field.type)) field.value = value;
      }
    }
  }

  async function signOut(event) {
    if (!event.target.action?.endsWith("/sign-out/") || event.target.dataset.native) return;
    event.preventDefault();
    const waiting = (await formQueue.all().catch(() => [])).length;
    if (waiting && !confirm(`${waiting === 1 ? "A form has" : `${waiting} forms have`} not been sent and will be lost. Sign out?`)) return;
    event.target.dataset.native = "yes";
    event.target.requestSubmit(event.submitter);
  }

  document.addEventListener("submit", submitted);
  document.addEventListener("submit", signOut);
  document.addEventListener("queue-sent", sent);
  document.addEventListener("htmx:afterSwap", () => tell().catch(() => { /* nothing is kept here */ }));
  window.addEventListener("online", flush);
  setInterval(() => { if (!bar.hidden) flush(); }, AGAIN_MS);
  refill().then(flush).catch(() => { /* a browser that keeps nothing sends forms the plain way */ });
})();
