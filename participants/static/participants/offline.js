"use strict";
// A participant's pages without a network: keeps them, and says what the person looks at.
(() => {
  if (!phone.runs) return;
  const { person, zone, servedAt, say, button, link } = phone;
  const CLOCK_SLACK_MS = 120000;

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
    const { is, said } = await phone.ask();
    if (is !== "here") return goWithout(is);
    checkClock(said.now, before, Date.now());
    showNextTurn();
    say("network", "");
    showOffline(false);
    if (said.edition !== phone.edition) newer();
    const { count, gone } = await phoneForms.flush(said.csrf);
    if (gone) newer();
    askForPack(count ? (await phone.ask()).said ?? said : said); // what was sent may have made another edition
  }

  // The page goes on by itself: without a network, with a server that is ill, or signed out.
  function goWithout(is) {
    if (is === "out") {
      say("network", "You are signed out on this device.", [link("/in/", "Get a link")]);
    } else {
      say("network", `${is === "ill" ? "The server does not answer" : "No network"}: this copy is of ${phone.clock(servedAt)}.`, [button("Try again", contact)]);
      showOffline(true);
    }
    return phoneForms.tellWithout(is);
  }

  // What is on the screen is of an older edition. Nobody should act on it: load it anew unless something is typed.
  function newer() {
    const again = () => location.reload();
    const key = `newer ${location.pathname}`, last = Number(sessionStorage.getItem(key) ?? 0);
    if (!phone.typed && Date.now() - last > 30000) {
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

  async function askForPack(said) {
    if (!navigator.serviceWorker) return;
    const worker = (await navigator.serviceWorker.ready).active;
    const loaded = performance.getEntriesByType("resource").map((entry) => entry.name);
    const linked = [...document.querySelectorAll("link[href], script[src]")].map((node) => node.href || node.src);
    const assets = [...new Set([...loaded, ...linked, ...said.assets.map((path) => new URL(path, location.href).href)])].filter((address) => new URL(address).pathname.startsWith("/static/"));
    worker?.postMessage({ kind: "pack", person, edition: said.edition, kit: said.kit, trip: said.trip, paths: said.paths, assets });
  }

  phone.contact = contact;
  window.addEventListener("online", contact);
  navigator.serviceWorker?.addEventListener("message", ({ data }) => {
    if (data.kind === "pack-state") document.documentElement.dataset.pack = data.complete ? data.edition : "";
  });
  navigator.serviceWorker?.register("/service-worker.js").catch(() => { /* the pages work without it */ });
  tellClock();
  showNextTurn();
  contact();
})();
