// A leader's pages of the day without a network: has the worker keep them, and says when a kept one is shown.
import { line, meta } from "../participants/parts.js";

const AGAIN_MS = 300000;
const OLD_MS = 120000;

// A page that was served a while ago comes from this device.
function tellKept() {
  const served = Date.parse(meta("served"));
  if (!(Date.now() - served > OLD_MS)) return;
  const at = new Intl.DateTimeFormat("en-GB", { dateStyle: "medium", timeStyle: "short" }).format(served);
  const said = line(`Kept on this device at ${at}, by its clock: there was no network. Ticks wait and are sent later.`);
  said.className = "alert alert-warning";
  said.setAttribute("role", "status");
  document.getElementById("main").prepend(said);
}

async function askForPack() {
  if (!navigator.serviceWorker || !navigator.onLine) return;
  const answer = await fetch(meta("leader-pack"), { cache: "no-store" });
  if (!answer.ok || answer.redirected) return;
  const said = await answer.json();
  const loaded = performance.getEntriesByType("resource").map((entry) => entry.name);
  const named = said.assets.map((one) => new URL(one, location.href).href);
  const assets = [...new Set([...loaded, ...named])].filter((one) => new URL(one).pathname.startsWith("/static/"));
  const worker = (await navigator.serviceWorker.ready).active;
  worker?.postMessage({ ...said, kind: "leader-pack", assets });
}

const again = () => askForPack().catch(() => { /* no network: what is kept stays */ });

navigator.serviceWorker?.addEventListener("message", ({ data }) => {
  if (data.kind === "leader-pack-state") document.documentElement.dataset.pack = data.complete ? data.edition : "";
});
navigator.serviceWorker?.register("/service-worker.js").catch(() => { /* the pages work without it */ });
tellKept();
window.addEventListener("online", again);
window.addEventListener("load", again);
if (document.readyState === "complete") again();
setInterval(again, AGAIN_MS);
