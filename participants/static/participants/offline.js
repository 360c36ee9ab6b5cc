// A participant's pages without a network: keeps them, and says what the person looks at.
import { button, link, made } from "./parts.js";
import { ask, page, person, say, servedAt, zone } from "./phone.js";
import { clockWarning, countdown, offsetOf, presentOf, readable } from "./phone_clock.js";
import { flush, tellWithout } from "./phone_forms.js";
import { gettext as _ } from "./words.js";

const AGAIN_MS = 30000;

// --- The clock of the phone, as the server last knew it ------------------------------------------------------------
const clockOffset = () => { try { return Number(localStorage.getItem("clock-offset") ?? 0); } catch { return 0; } };
const now = () => Date.now() + clockOffset();

function checkClock(serverNow, before, after) {
  const offset = String(offsetOf(serverNow, before, after));
  try { localStorage.setItem("clock-offset", offset); } catch { /* nothing is kept then */ }
  tellClock();
}

// Once closed it stays away while the tab is open, until it has something else to say.
const closedWarning = () => { try { return sessionStorage.getItem("clock-closed"); } catch { return null; } };

function tellClock() {
  const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
  const told = clockWarning({ offsetMs: clockOffset(), moment: servedAt, zone, here });
  const close = button(_("Close"), () => {
    try { sessionStorage.setItem("clock-closed", told); } catch { /* it comes back with the next page */ }
    say("clock", "");
  });
  say("clock", told === closedWarning() ? "" : told, [close]);
}

// --- The next turn, also on a page that was kept since yesterday ---------------------------------------------------
const nameOf = (turn) => turn?.querySelector("[id^='turn-']").id ?? "";

function showNextTurn() {
  const shown = document.querySelector("[data-next] [data-next-turn]");
  const turns = [...document.querySelectorAll("details[data-turn]")];
  if (!shown || !turns.length) return;
  const next = turns.find((turn) => new Date(turn.dataset.endsAt).getTime() > now());
  if (nameOf(next) === (shown.dataset.nextTurn ?? "")) return;
  const card = made(next ? "div" : "p", { className: next ? "turn-next" : "" });
  card.dataset.nextTurn = nameOf(next);
  card.dataset.endsAt = next?.dataset.endsAt ?? "";
  if (next) card.append(next.querySelector("[data-card]").cloneNode(true), ...goOn(shown, nameOf(next)));
  else card.append(_("No turn is ahead of you."));
  shown.replaceWith(card);
}

function goOn(shown, turn) {
  const go = shown.querySelector(".now-go")?.cloneNode(true);
  const whole = go?.querySelector("[href^='#turn-']");
  if (whole) whole.hash = turn;
  return go ? [go] : [];
}

// A link to a turn of the sheet opens it.
function openTurn() {
  const fold = document.getElementById(location.hash.slice(1))?.closest("details[data-turn]");
  if (!fold) return;
  fold.open = true;
  fold.scrollIntoView();
}

// --- What is told of now: how long until one leaves, and the settings of now with those that follow -----------------
function showNow() {
  for (const count of document.querySelectorAll("[data-leaves-at]")) {
    const endsAt = Date.parse(count.closest("[data-ends-at]").dataset.endsAt);
    count.textContent = countdown(Date.parse(count.dataset.leavesAt), endsAt, now());
  }
  for (const table of document.querySelectorAll("[data-by-clock]")) {
    const rows = [...table.querySelectorAll("[data-from]")];
    const present = presentOf(rows.map((row) => row.dataset.from), now());
    const first = Math.max(present, 0);
    rows.forEach((row, index) => {
      row.toggleAttribute("data-shown", index === first || index === first + 1);
      if (index === present) row.setAttribute("aria-current", "time");
      else row.removeAttribute("aria-current");
    });
  }
}

// --- Contact with the server ---------------------------------------------------------------------------------------
async function contact() {
  const before = Date.now();
  const { is, said } = await ask();
  if (is !== "here") return goWithout(is);
  checkClock(said.now, before, Date.now());
  showNextTurn();
  showNow();
  say("network", "");
  showOffline(false);
  if (said.edition !== page.edition) newer();
  const { count, gone } = await flush(said.csrf);
  if (gone) newer();
  return askForPack(count ? (await ask()).said ?? said : said); // what was sent may have made another edition
}

// The page goes on by itself: without a network, with a server that is ill, or signed out.
function goWithout(is) {
  if (is === "out") {
    say("network", _("You are signed out on this device."), [link("/in/", _("Get a link"))]);
  } else {
    const copy = { moment: readable(servedAt, zone) };
    const why = is === "ill"
      ? _("The server does not answer: this copy is of {moment}.", copy)
      : _("No network: this copy is of {moment}.", copy);
    say("network", why, [button(_("Try again"), contact)]);
    showOffline(true);
  }
  return tellWithout(is);
}

// What is on the screen is of an older edition. Nobody should act on it: load it anew unless something is typed.
function newer() {
  const again = () => location.reload();
  const key = `newer ${location.pathname}`;
  const last = Number(sessionStorage.getItem(key) ?? 0);
  if (!page.typed && Date.now() - last > AGAIN_MS) {
    sessionStorage.setItem(key, String(Date.now()));
    again();
  } else {
    say("newer", _("Something changed since this page was kept."), [button(_("Show it"), again)]);
  }
}

// What a page has to say only while there is no network.
function showOffline(offline) {
  document.querySelectorAll("[data-when-offline]").forEach((node) => { node.hidden = !offline; });
}

// --- What is kept --------------------------------------------------------------------------------------------------
// What this page loaded (styles, fonts, modules and what they import), and what the server names for the other pages.
function assetsFor(named) {
  const loaded = performance.getEntriesByType("resource").map((entry) => entry.name);
  const linked = [...document.querySelectorAll("link[href], script[src]")].map((node) => node.href || node.src);
  const addresses = [...loaded, ...linked, ...named].map((one) => new URL(one, location.href));
  return [...new Set(addresses.filter((one) => one.pathname.startsWith("/static/")).map((one) => one.href))];
}

async function askForPack({ edition, gear, trip, paths, assets }) {
  if (!navigator.serviceWorker) return;
  const worker = (await navigator.serviceWorker.ready).active;
  worker?.postMessage({ kind: "pack", person, edition, gear, trip, paths, assets: assetsFor(assets) });
}

page.contact = contact;
window.addEventListener("online", contact);
navigator.serviceWorker?.addEventListener("message", ({ data }) => {
  if (data.kind === "pack-state") document.documentElement.dataset.pack = data.complete ? data.edition : "";
});
navigator.serviceWorker?.register("/service-worker.js").catch(() => { /* the pages work without it */ });
tellClock();
showNextTurn();
showNow();
openTurn();
window.addEventListener("hashchange", openTurn);
setInterval(() => { showNextTurn(); showNow(); }, AGAIN_MS);
contact();
