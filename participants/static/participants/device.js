// What this browser keeps of the site.
import { formStore } from "./form_store.js";
import { STORE_NAME } from "./queue.js";
import { ngettext } from "./words.js";

/** Empties it, also where the browser does not know the Clear-Site-Data header. */
export async function emptyDevice() {
  if (window.caches) await Promise.all((await caches.keys()).map((name) => caches.delete(name)));
  if (window.indexedDB) indexedDB.deleteDatabase(STORE_NAME);
  const workers = await navigator.serviceWorker?.getRegistrations() ?? [];
  await Promise.all(workers.map((worker) => worker.unregister()));
  try { localStorage.clear(); } catch { /* storage is switched off: nothing is kept */ }
}

/** Whether somebody signs out, although forms of anybody may wait here, which are lost then. */
export async function leavesForms() {
  const { length } = await formStore(STORE_NAME).all().catch(() => []);
  if (!length) return true;
  return confirm(ngettext(
    "A form has not been sent and will be lost. Sign out?",
    "{number} forms have not been sent and will be lost. Sign out?",
    length,
  ));
}
