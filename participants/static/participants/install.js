// Putting the pages on the home screen, where the browser offers it: a button under More, and one quiet line, once.
import { button } from "./parts.js";
import { say } from "./phone.js";
import { gettext as _ } from "./words.js";

const TOLD = "install-told";
const told = () => { try { return localStorage.getItem(TOLD); } catch { return "1"; } };
let offer;

const showButton = () => { document.querySelector("[data-install]").hidden = !offer; };

function close() {
  try { localStorage.setItem(TOLD, "1"); } catch { /* it is told again then */ }
  say("install", "");
}

async function install() {
  close();
  const asked = offer;
  offer = undefined;
  showButton();
  await asked?.prompt();
}

window.addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  offer = event;
  showButton();
  if (told()) return;
  const controls = [button(_("Put it there"), install), button(_("Close"), close)];
  say("install", _("These pages can stand on your home screen, like an app."), controls);
});
window.addEventListener("appinstalled", close);
document.querySelector("[data-install]")?.addEventListener("click", install);
