"use strict";
// {% load i18n %} The page for the time without a network speaks the reader's language.
// Keeps a participant's own pages for the time without a network. Only the paths below, only of one person, only of
// one edition: an answer of another person or a newer edition empties what was kept before.
// And a leader's pages of the running day, of one leader: each as it was last served.
const OWN_PAGES = [
  "days/",
  "briefing/",
  "briefing[.]pdf",
  "kit/",
  "kit/picture/",
  "kit/picture/save/",
  "kit/add/[a-z]+/",
  "kit/[a-z]+/[0-9a-f-]{36}/",
  "kit/[a-z]+/[0-9a-f-]{36}/remove/",
  "packing/",
  "wishes/",
  "details/",
  "message/",
  "calendar/",
  "drawings/[0-9a-f-]{36}/[0-9]+[.]svg",
];
const OWN = new RegExp(`^/my/([0-9a-f-]{36})/(?:${OWN_PAGES.join("|")})?$`);
const LEADERS_PAGES = ["board/", "day/", "day/[0-9a-f-]{36}/out/", "rota/", "emergency/[0-9a-f-]{36}/"];
const OF_A_LEADER = new RegExp(`^/trips/[0-9a-f-]{36}/(?:${LEADERS_PAGES.join("|")})$`);
const LEADER_PACK = "leader-pack ";
const EDITION_MARK = "/edition-of-this-pack";
const GEAR = /^\/my\/[0-9a-f-]{36}\/(?:kit|packing)\//;
const GEAR_MARK = "/gear-of-this-pack";
const TRIP_MARK = "/trip-of-this-pack";
const STATIC = "static";
const HASHED = /\.[0-9a-f]{12}\./;
const PATIENCE_MS = 5000;

const packName = (person, edition) => `pack ${person} ${edition}`;
const isPack = (name) => name.startsWith("pack ");

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (url.pathname.startsWith("/static/")) event.respondWith(staticFile(event.request, url));
  else if (OWN.test(url.pathname) && asksForTripAtMost(url)) event.respondWith(ownPage(event, url));
  else if (event.request.mode !== "navigate") return;
  else if (OF_A_LEADER.test(url.pathname)) event.respondWith(leadersPage(event, url));
  else event.respondWith(otherPage(event.request, url));
});

const asksForTripAtMost = (url) => [...url.searchParams.keys()].every((name) => name === "trip");

self.addEventListener("message", (event) => {
  if (event.data.kind === "leader-pack") {
    event.waitUntil(leaderPack(event.data).then((state) => event.source.postMessage(state)));
  }
  if (event.data.kind === "pack") event.waitUntil(pack(event.data).then((state) => event.source.postMessage(state)));
});

// Where a copy is kept, it is shown after some patience and in place of a server's fault; without one nothing is cut
// short.
async function ownPage(event, url) {
  const person = OWN.exec(url.pathname)[1];
  const copy = await kept(person, url);
  try {
    const answer = await (copy ? withPatience(event.request) : fetch(event.request));
    if (copy && answer.status >= 500) return copy;
    if (answer.ok && !answer.redirected && !url.search) {
      event.waitUntil(keepOrForget(person, url.pathname, answer.clone()));
    }
    return answer;
  } catch {
    return copy ?? nothingKept();
  }
}

// The newest answer is kept. Whoever is led to the sign-in, or leads the trip no longer, keeps nothing.
async function leadersPage(event, url) {
  const address = url.pathname + url.search;
  const copy = await keptOfLeader(address);
  try {
    const answer = await (copy ? withPatience(event.request) : fetch(event.request));
    if (copy && answer.status >= 500) return copy;
    if (answer.type === "opaqueredirect" || answer.status === 404) event.waitUntil(emptyOtherLeaders(""));
    const leader = answer.headers.get("X-Kept-By");
    if (answer.ok && leader) event.waitUntil(keepForLeader(leader, address, answer.clone()));
    return answer;
  } catch {
    return copy ?? nothingKept();
  }
}

async function keptOfLeader(address) {
  const name = (await caches.keys()).find((one) => one.startsWith(LEADER_PACK));
  return name && (await caches.open(name)).match(address, { ignoreVary: true });
}

async function keepForLeader(leader, address, answer) {
  await emptyOtherLeaders(leader);
  await (await caches.open(LEADER_PACK + leader)).put(address, answer);
}

async function emptyOtherLeaders(leader) {
  const names = (await caches.keys()).filter((name) => name.startsWith(LEADER_PACK) && name !== LEADER_PACK + leader);
  await Promise.all(names.map((name) => caches.delete(name)));
}

// Fetches the pages of a trip where its edition is new, and drops those of other trips and days.
async function leaderPack({ leader, edition, paths, assets }) {
  await emptyOtherLeaders(leader);
  const cache = await caches.open(LEADER_PACK + leader);
  const isNew = (await (await cache.match(EDITION_MARK))?.text()) !== edition;
  const addresses = new Set([EDITION_MARK, ...paths].map((path) => new URL(path, location.href).href));
  for (const request of await cache.keys()) if (!addresses.has(request.url)) await cache.delete(request);
  let missing = 0;
  for (const path of paths) {
    if (!isNew && await cache.match(path, { ignoreVary: true })) continue;
    try {
      const answer = await fetch(path, { cache: "no-store" });
      const isOwn = answer.ok && !answer.redirected && answer.headers.get("X-Kept-By") === leader;
      if (isOwn) await cache.put(path, answer);
      else missing += 1;
    } catch {
      missing += 1;
    }
  }
  if (!missing) await cache.put(EDITION_MARK, new Response(edition));
  await keepAssets(assets);
  return { kind: "leader-pack-state", edition, complete: missing === 0 };
}

async function otherPage(request, url) {
  let answer;
  try {
    answer = await fetch(request);
    if (answer.status < 500) return answer;
  } catch { /* what is kept may do */ }
  const name = (await caches.keys()).find(isPack);
  if (["/", "/in/"].includes(url.pathname) && name) return Response.redirect(`/my/${name.split(" ")[1]}/days/`);
  const trip = ["/", "/trips/"].includes(url.pathname) && await dayOfLeader();
  return answer ?? (trip ? Response.redirect(trip) : nothingKept());
}

async function dayOfLeader() {
  const name = (await caches.keys()).find((one) => one.startsWith(LEADER_PACK));
  const requests = name ? await (await caches.open(name)).keys() : [];
  return requests.map((request) => request.url).find((address) => address.endsWith("/day/"));
}

async function staticFile(request, url) {
  const cache = await caches.open(STATIC);
  const known = await cache.match(request, { ignoreVary: true });
  if (!known) return fetch(request);
  if (HASHED.test(url.pathname)) return known;
  try {
    const answer = await withPatience(request);
    if (!answer.ok) return known;
    await cache.put(request, answer.clone());
    return answer;
  } catch {
    return known;
  }
}

function withPatience(request) {
  return Promise.race([
    fetch(request),
    new Promise((resolve, reject) => { setTimeout(() => reject(new Error("no answer in time")), PATIENCE_MS); }),
  ]);
}

// A page of no edition tells what has just been done: it is not for later, and neither is what was kept before that.
async function keepOrForget(person, path, answer) {
  const edition = answer.headers.get("X-Edition");
  if (edition) await keep(person, edition, path, answer);
  else await (await packOf(person))?.delete(path, { ignoreVary: true });
}

async function keep(person, edition, path, answer) {
  await emptyOthers(person, edition);
  await (await caches.open(packName(person, edition))).put(path, answer);
}

async function emptyOthers(person, edition) {
  const own = packName(person, edition);
  const others = (await caches.keys()).filter((name) => isPack(name) && name !== own);
  await Promise.all(others.map((name) => caches.delete(name)));
}

async function packOf(person) {
  const name = (await caches.keys()).find((one) => one.startsWith(`pack ${person} `));
  return name && caches.open(name);
}

// The kept copy of an address; one that asks for a trip has one only where the pack is about that trip.
async function kept(person, url) {
  const cache = await packOf(person);
  if (!cache) return undefined;
  const trip = url.searchParams.get("trip");
  if (trip && trip !== (await (await cache.match(TRIP_MARK))?.text())) return undefined;
  const found = await cache.match(url.pathname, { ignoreVary: true });
  if (found || url.pathname !== `/my/${person}/`) return found;
  return Response.redirect(`/my/${person}/days/`);
}

// Fetch all pages of an edition that are not here yet. A page of another edition means that a newer one came meanwhile:
// nothing of both is mixed, the newer one is begun.
async function pack({ person, edition, gear, trip, paths, assets }) {
  await emptyOthers(person, edition);
  const cache = await caches.open(packName(person, edition));
  await dropOldGear(cache, gear);
  await cache.put(TRIP_MARK, new Response(trip));
  let missing = 0;
  for (const path of paths) {
    if (await cache.match(path, { ignoreVary: true })) continue;
    try {
      const answer = await fetch(path, { cache: "no-store", headers: { "X-Pack": "1" } });
      const got = answer.headers.get("X-Edition");
      if (got && got !== edition) {
        await keep(person, got, path, answer);
        return { kind: "pack-state", edition: got, complete: false };
      }
      if (answer.ok && got && !answer.redirected) await cache.put(path, answer);
      else missing += 1;
    } catch {
      missing += 1;
    }
  }
  await keepAssets(assets);
  return { kind: "pack-state", edition, complete: missing === 0 };
}

// Changed gear makes the pages of gear old, and those alone.
async function dropOldGear(cache, gear) {
  const known = await (await cache.match(GEAR_MARK))?.text();
  if (known === gear) return;
  for (const request of await cache.keys()) if (GEAR.test(new URL(request.url).pathname)) await cache.delete(request);
  await cache.put(GEAR_MARK, new Response(gear));
}

async function keepAssets(assets) {
  const cache = await caches.open(STATIC);
  const wanted = new Set(assets);
  for (const request of await cache.keys()) if (!wanted.has(request.url)) await cache.delete(request);
  for (const address of assets) {
    try {
      if (!(await cache.match(address, { ignoreVary: true }))) await cache.add(address);
    } catch { /* the page itself was loaded with it; the next visit tries again */ }
  }
}

// In the colours that the device asks for, since no style may be at hand.
function nothingKept() {
  const text = `<!doctype html><html lang="{% get_current_language as code %}{{ code }}"><meta charset="utf-8">
    <meta name="viewport" content="width=device-width"><meta name="color-scheme" content="light dark">
    <title>{% translate "No network" %}</title><h1>{% translate "No network" %}</h1>
    <p>{% blocktranslate trimmed %}
      This page was not kept on this device. Your days are, once you have opened them with a network.
    {% endblocktranslate %}</p>
    <p><a href="/">{% translate "My days" %}</a></p></html>`;
  return new Response(text, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });
}
