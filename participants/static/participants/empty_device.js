"use strict";
// Empties what this browser keeps of the site, also where it does not know the Clear-Site-Data header.
(async () => {
  if (window.caches) await Promise.all((await caches.keys()).map((name) => caches.delete(name)));
  if (navigator.serviceWorker) {
    const workers = await navigator.serviceWorker.getRegistrations();
    await Promise.all(workers.map((worker) => worker.unregister()));
  }
  if (window.indexedDB) indexedDB.deleteDatabase("fairhide");
  try { localStorage.clear(); } catch { /* storage is switched off: nothing is kept */ }
})();
