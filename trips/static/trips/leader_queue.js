// A leader's forms in the field: each is kept in the browser and sent as soon as there is a network, once.
import { leavesForms } from "../participants/device.js";
import { fillForm, filledForm } from "../participants/filled_form.js";
import { button, line, link, meta } from "../participants/parts.js";
import { FormQueue, isRefused } from "../participants/queue.js";
import { leadsTo } from "../participants/waiting.js";

const AGAIN_MS = 15000;
const PATIENCE_MS = 6000;
const leader = meta("leader");
const bar = document.getElementById("queue-state");
const queue = new FormQueue({ owner: leader, sent });
let signedOut = false;
let renews = false;
let taken = [];
const waited = new Set(); // what was not sent at once

// The clock of the device, or of the form's zone: a site's times are told as clocks there show them.
const clock = (moment = new Date(), form = null) => new Intl.DateTimeFormat("en-GB", {
  hour: "2-digit", minute: "2-digit", timeZone: form?.dataset.queueZone,
}).format(moment);
const isHere = (entry) => leadsTo(entry.page, location.href);
const formOf = (entry) => document.querySelector(`form[data-queue="${entry.kind}"]`);

function note(form, ...words) {
  const place = form?.querySelector("[data-note]");
  if (place && (words.length > 1 || place.textContent !== words[0])) place.replaceChildren(...words);
}

function showWhenRefused(form, refused) {
  form?.querySelectorAll("[data-when-refused]").forEach((node) => { node.hidden = !refused; });
}

function dropButton(entry, form, label) {
  return button(label, async () => {
    await queue.remove(entry.client_uuid);
    note(form, "");
    await tell();
  });
}

// --- Contact with the server ---------------------------------------------------------------------------------------
async function contact() {
  const answer = await fetch(meta("contact"), { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
  signedOut = answer.redirected;
  if (signedOut || !answer.ok) throw new Error("signed out, or the server does not take forms now");
  const said = await answer.json();
  if (said.leader !== leader) throw new Error("somebody else is signed in");
  return said.csrf;
}

async function flush() {
  const own = await queue.own();
  if (!own.every(isRefused)) {
    try {
      await queue.flush(await contact());
    } catch { /* no network yet: what waits goes on waiting */ }
  }
  if (renews) document.dispatchEvent(new Event("queue-renew")); // a part of the page; the page stays, network or not
  renews = false;
  tellTaken();
  await tell();
}

// What had waited and is now with the server.
function tellTaken() {
  if (!taken.length) return;
  const said = line(`Taken at ${clock()}: ${taken.join(", ")}.`);
  taken = [];
  said.className = "alert alert-success";
  said.setAttribute("role", "status");
  document.getElementById("main").prepend(said);
}

// The form goes on from what the server now has: its next sending is not taken for a stale one.
function sent(entry, said) {
  if (waited.delete(entry.client_uuid)) taken.push(entry.name);
  const form = formOf(entry);
  if (!form) return;
  note(form, `Saved at ${clock()}.`);
  showWhenRefused(form, false);
  for (const [name, value] of Object.entries(said.fields ?? {})) {
    if (form.elements[name]) form.elements[name].value = value;
  }
  if ("queueReload" in form.dataset) location.reload();
  renews ||= "queueRenew" in form.dataset;
}

// --- What waits and what was refused -------------------------------------------------------------------------------
async function tell() {
  const forms = await queue.own();
  const waiting = forms.filter((entry) => !isRefused(entry));
  waiting.forEach((entry) => waited.add(entry.client_uuid) && noteWaiting(entry));
  const lines = [...(waiting.length ? [waitingLine(waiting)] : []), ...forms.filter(isRefused).map(refusedLine)];
  bar.replaceChildren(...lines);
  bar.hidden = !lines.length;
}

function noteWaiting(entry) {
  const form = formOf(entry);
  if (!form?.dataset.queueTimed) return note(form, "Kept on this device; sent when there is a network.");
  const since = clock(new Date(entry.queued_at), form);
  return note(form, `At ${since}, waits for a network. `, dropButton(entry, form, "Take it back"));
}

function waitingLine(waiting) {
  const names = waiting.map((entry) => entry.name).join(", ");
  const why = signedOut ? "You are signed out on this device; sign in and these are sent" : "Waits for a network";
  return line(`${why}: ${names}.`, [button("Try now", flush)]);
}

function refusedLine(entry) {
  const form = formOf(entry);
  const said = `Not taken: ${entry.errors.join(" ")}`;
  note(form, said);
  showWhenRefused(form, true);
  const open = isHere(entry) ? [] : [link(entry.page, "Open its page")];
  return line(`${entry.name}. ${said}`, [...open, dropButton(entry, form, "Throw it away")]);
}

// --- Filling and sending -------------------------------------------------------------------------------------------
// Of a form that notes its moment the first tap counts; its name in the list of what waits says when that was.
async function isFirstTap(form) {
  form.dataset.queueName = `${form.dataset.queueTimed} at ${clock(new Date(), form)}`;
  return !(await queue.own()).some((entry) => entry.kind === form.dataset.queue && !isRefused(entry));
}

async function submitted(event) {
  const form = event.target.closest("form[data-queue]");
  if (!form || form.dataset.native) return;
  event.preventDefault();
  try {
    if (form.dataset.queueTimed && !(await isFirstTap(form))) return;
    await queue.add(filledForm(form, event.submitter));
  } catch {
    form.dataset.native = "yes"; // this browser keeps nothing: send it the plain way
    form.requestSubmit(event.submitter);
    return;
  }
  note(form, "Kept on this device.");
  await flush();
}

// What waits is shown in its form as it was typed, with the mark of what it was typed on.
async function refill() {
  const own = await queue.own();
  own.forEach((entry) => waited.add(entry.client_uuid));
  for (const entry of own.filter(isHere)) {
    const form = formOf(entry);
    if (form) fillForm(form, entry, { hidden: true });
  }
}

async function signOut(event) {
  const form = event.target;
  if (!form.action?.endsWith("/sign-out/") || form.dataset.native) return;
  event.preventDefault();
  if (!await leavesForms()) return;
  form.dataset.native = "yes";
  form.requestSubmit(event.submitter);
}

document.addEventListener("submit", submitted);
document.addEventListener("submit", signOut);
document.addEventListener("htmx:afterSwap", () => tell().catch(() => { /* nothing is kept here */ }));
window.addEventListener("online", flush);
setInterval(() => { if (!bar.hidden) flush(); }, AGAIN_MS);
refill().then(flush).catch(() => { /* a browser that keeps nothing sends forms the plain way */ });
