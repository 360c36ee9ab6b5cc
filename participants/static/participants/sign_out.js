// Signing out empties the device first, with or without a network.
import { emptyDevice, leavesForms } from "./device.js";
import { made } from "./parts.js";
import { ask, say } from "./phone.js";
import { gettext as _ } from "./words.js";

const STAYS_SIGNED_IN = _(
  "Your pages are gone from it. The sign-out itself could not be sent: sign out again when there is a network.",
);

// Whether the session is over; the form token is asked for anew, since this page may be older than the sign-in.
async function leave(address) {
  const { is, said } = await ask();
  if (is !== "here") return is === "out";
  const answer = await fetch(address, { method: "POST", headers: { "X-CSRFToken": said.csrf } }).catch(() => null);
  return Boolean(answer?.ok);
}

function showEmpty() {
  const words = [made("h1", { textContent: _("This device is empty") }), made("p", { textContent: STAYS_SIGNED_IN })];
  document.getElementById("main").replaceChildren(...words);
  document.querySelectorAll("nav, .house-account, #messages, #phone-state").forEach((node) => node.remove());
}

document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-sign-out]");
  if (!form) return;
  event.preventDefault();
  if (!await leavesForms()) return;
  say("leaving", _("Signing out …"));
  await emptyDevice();
  if (await leave(form.action)) location.replace("/in/");
  else showEmpty();
});
