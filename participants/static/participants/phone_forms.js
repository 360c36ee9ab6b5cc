// A participant's forms: each is kept on the phone first and sent from there.
import { fillForm, filledForm, openedFrom, sameTrip, tripOf } from "./filled_form.js";
import { button, link, made, meta } from "./parts.js";
import { ask, page, say, says } from "./phone.js";
import { entryFor, notSent, sentWhen } from "./waiting.js";
import { onSent, queue, reach, tell } from "./waiting_lines.js";

const UNTRIED = "What this does in the hides is shown when there is a network. You can save it now.";
const arrived = [];
const sentHere = [];
const parsed = (text) => new DOMParser().parseFromString(text, "text/html");

// --- What waits is shown in its form as it was typed ---------------------------------------------------------------
async function refill() {
  const own = await queue.own().catch(() => []);
  for (const form of document.querySelectorAll("form[data-queue]")) {
    const each = "queueEach" in form.dataset;
    const asked = { kind: form.dataset.queue, trip: tripOf(form), each, replaced: openedFrom() };
    const entry = entryFor(asked, own, location.href);
    if (entry) fill(form, entry);
  }
}

function fill(form, entry) {
  page.typed = true;
  fillForm(form, entry);
  showUntried({ target: form });
  const tryIt = () => form.dispatchEvent(new Event("change"));
  if (document.readyState === "complete") tryIt();
  else window.addEventListener("load", tryIt);
}

// What gear does in the hides is computed by the server: without it the old answer must not stand beside new numbers.
function showUntried({ target }) {
  const verdicts = document.getElementById("verdicts");
  if (verdicts && target.closest("form")) verdicts.replaceChildren(made("p", { textContent: UNTRIED }));
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
  page.typed = true; // nothing loads the page anew until the answer leads on
  const entry = await queue.add(filledForm(form, event.submitter)).catch(() => null);
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
  const { is, said } = await ask();
  const outcome = is === "here" ? await queue.send(entry, said.csrf, "now").catch(() => ({ is: "away" })) : { is };
  reach.is = outcome.is;
  return outcome;
}

// Whether this phone keeps that page; an address that asks for a trip leads to a copy of a pack about that trip alone.
async function isKept(address) {
  const { pathname, searchParams } = new URL(address, location.href);
  if (!window.caches || !(await caches.match(pathname, { ignoreVary: true }))) return false;
  const trip = searchParams.get("trip");
  return !trip || trip === await (await caches.match("/trip-of-this-pack"))?.text();
}

async function leaveWaiting(form, entry) {
  const next = sameTrip(form.dataset.queueNext);
  if (next && (await isKept(next))) {
    location.assign(next);
    return;
  }
  if ("queueEach" in form.dataset) history.replaceState(null, "", `#${entry.client_uuid}`);
  const close = button("Close", () => say("kept", ""));
  say("kept", `${entry.name}: kept on this phone, sent when ${sentWhen(reach.is)}.`, [close]);
  await tell();
}

// What the server does not take comes back with the reasons as its page shows them; kept until they stand there.
async function showReasons(entry, text) {
  const shown = text && parsed(text).getElementById("main");
  if (shown) {
    document.getElementById("main").replaceWith(shown);
    window.htmx?.process(shown);
    page.typed = true;
    await queue.remove(entry.client_uuid);
    (shown.querySelector("[role=alert]") ?? shown).focus();
  }
  await tell();
}

function goOn(entry, said) {
  if (!document.querySelector(`form[data-busy="${entry.client_uuid}"]`)) return;
  location.assign(said.next ?? location.pathname + location.search);
}

const isBusy = (entry) => [...document.querySelectorAll("form[data-busy]")]
  .some((form) => form.dataset.queue === entry.kind);

/** All that waits is sent; the forms of it that stand on this page go on from what the server has, or are `gone`. */
export async function flush(csrf) {
  const { sent, is } = await queue.flush(csrf, isBusy).catch(() => ({ sent: [], is: "away" }));
  reach.is = is;
  if (sent.length) tellSent(sent.map((entry) => entry.name));
  sentHere.push(...sent);
  const gone = await renew();
  await tell();
  return { count: sent.length, gone };
}

/** Nothing can be sent now, for that reason. */
export function tellWithout(is) {
  reach.is = is;
  return tell();
}

function tellSent(names) {
  arrived.push(...names);
  const close = button("Close", () => { arrived.length = 0; say("sent", ""); });
  const again = () => location.reload();
  const anew = document.querySelector("[data-queue-list]") ? [button("Show the list anew", again)] : [];
  say("kept", "");
  say("sent", `Sent: ${arrived.join(", ")}.`, [...anew, close]);
}

// Takes over what a form was opened on, so that its next sending is not told that something changed meanwhile.
async function renew() {
  const isOf = (form) => (entry) => entry.kind === form.dataset.queue && (entry.trip ?? "") === tripOf(form);
  const waiting = [...document.querySelectorAll("form[data-queue]:not([data-queue-each])")];
  const forms = waiting.filter((form) => sentHere.some(isOf(form)));
  if (!forms.length) return false;
  const answer = await fetch(location.href, { cache: "no-store", headers: { "X-Pack": "1" } }).catch(() => null);
  if (!answer?.ok) return false; // the next contact tries again
  const fresh = parsed(await answer.text());
  const pairs = forms.map((form) => [form, fresh.querySelector(`form[data-queue="${form.dataset.queue}"]`)]);
  for (const [form, other] of pairs) {
    for (const field of other?.elements ?? []) {
      if (field.name.startsWith("seen")) form.elements[field.name].value = field.value;
    }
  }
  sentHere.length = 0;
  const gone = !pairs.every(([, other]) => other);
  if (!gone && !says("newer")) page.edition = meta("edition", fresh);
  return gone;
}

// A form that cannot wait (a file, a health note, a new address) says so and stays as it is.
async function submittedOnline(event) {
  const form = event.target.closest("form[data-online]");
  if (!form || form.dataset.native) return;
  event.preventDefault();
  const { is, said } = await ask();
  if (is === "here") {
    sendNatively(form, event.submitter, said.csrf);
    return;
  }
  const signIn = is === "out" ? [link("/in/", "Get a link")] : [];
  const close = button("Close", () => say("online", ""));
  say("online", `${notSent(is)}: nothing was sent. ${form.dataset.online}`, [...signIn, close]);
}

onSent(goOn);
document.addEventListener("submit", submitted);
document.addEventListener("submit", submittedOnline);
document.addEventListener("input", () => { page.typed = true; });
for (const failed of ["htmx:sendError", "htmx:responseError"]) document.addEventListener(failed, showUntried);
window.addEventListener("pageshow", ({ persisted }) => {
  if (persisted) document.querySelectorAll("form[data-busy]").forEach((form) => { delete form.dataset.busy; });
});
window.addEventListener("hashchange", () => { if (/^#[0-9a-f-]{36}$/.test(location.hash)) location.reload(); });
refill();
