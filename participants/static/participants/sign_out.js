"use strict";
// Signing out empties the device first, with or without a network.
if (phone.runs) {
  const empty = async () => {
    if (window.caches) await Promise.all((await caches.keys()).map((name) => caches.delete(name)));
    indexedDB.deleteDatabase("fairhide");
    for (const worker of await navigator.serviceWorker?.getRegistrations() ?? []) await worker.unregister();
  };

  // Whether the session is over; the form token is asked for anew, since this page may be older than the sign-in.
  const leave = async (address) => {
    const { is, said } = await phone.ask();
    if (is !== "here") return is === "out";
    const answer = await fetch(address, { method: "POST", headers: { "X-CSRFToken": said.csrf } }).catch(() => null);
    return Boolean(answer?.ok);
  };

  const showEmpty = () => {
    document.getElementById("main").replaceChildren(
      Object.assign(document.createElement("h1"), { textContent: "This device is empty" }),
      Object.assign(document.createElement("p"), { textContent: "Your pages are gone from it. The sign-out itself could not be sent: sign out again when there is a network." }),
    );
    document.querySelectorAll("nav, .house-account, #messages, #phone-state").forEach((node) => node.remove());
  };

  document.addEventListener("submit", async (event) => {
    const form = event.target.closest("form[data-sign-out]");
    if (!form) return;
    event.preventDefault();
    const waiting = (await formQueue.all().catch(() => [])).length;
    if (waiting && !confirm(`${waiting === 1 ? "A form has" : `${waiting} forms have`} not been sent and will be lost. Sign out?`)) return;
    phone.say("leaving", "Signing out …");
    await empty();
    if (await leave(form.action)) location.replace("/in/");
    else showEmpty();
  });
}
