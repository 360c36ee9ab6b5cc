// What waits and what was refused, told on the page: in the lines of state, and beside each thing in its list.
import { openedFrom } from "./filled_form.js";
import { button, link, made } from "./parts.js";
import { page, person, say, says } from "./phone.js";
import { FormQueue, isRefused } from "./queue.js";
import { addressOf, isOpened, waitHere, waitsFor } from "./waiting.js";
import { gettext as _ } from "./words.js";

const hears = new Set();
const sent = (entry, said) => hears.forEach((hear) => hear(entry, said));
export const queue = new FormQueue({ owner: person, sent });

/** `hear(entry, said)` is called for each form that the server took. */
export const onSent = (hear) => hears.add(hear);

/** How the server was last reached: "here", "away", "ill" or "out". */
export const reach = { is: "away" };

export async function tell() {
  const forms = await queue.all().catch(() => []);
  const own = forms.filter((entry) => entry.person === person);
  const waiting = own.filter((entry) => !isRefused(entry));
  tellWaiting(waiting);
  say("foreign", forms.length > own.length ? _("A form of somebody else waits on this device and is not sent.") : "");
  own.filter(isRefused).forEach(tellRefused);
  const isHere = waiting.some((entry) => isOpened(entry, openedFrom(), location.href));
  say("opened", isHere ? _("The form on this page is the one that waits: change it here, or take it back.") : "");
  markLists(own);
}

function tellWaiting(waiting) {
  const names = waiting.map((entry) => entry.name).join(", ");
  const send = says("network") ? [] : [button(_("Send now"), () => page.contact())];
  const label = (entry) => (waiting.length > 1 ? _("Take back: {name}", entry) : _("Take it back"));
  const back = waiting.map((entry) => dropButton(entry, label(entry)));
  say("waiting", names && waitHere(reach.is, names), [...send, ...back]);
}

function tellRefused(entry) {
  const where = entry.gone ? entry.elsewhere : entry.page;
  const label = entry.gone ? _("Add it as a new one") : _("Open and correct it");
  const open = where ? [link(addressOf(entry, location.href, where), label)] : [];
  const why = _("Not taken: {name}. {why}", { name: entry.name, why: entry.errors.join(" ") });
  say(entry.client_uuid, why, [...open, dropButton(entry, _("Throw it away"))]);
}

function dropButton(entry, label) {
  return button(label, async () => {
    await queue.remove(entry.client_uuid);
    say(entry.client_uuid, "");
    say("kept", "");
    await tell();
  });
}

// Lists say beside each thing what waits for it, and hold what is new.
function markLists(own) {
  document.querySelectorAll("[data-waits]").forEach((node) => node.remove());
  for (const entry of own) {
    for (const list of document.querySelectorAll("[data-queue-list]")) {
      if (list.dataset.queueList === entry.kind) list.append(newItem(entry));
    }
    for (const item of document.querySelectorAll("[data-queue-item]")) {
      if (item.dataset.queueItem === entry.kind) item.append(" ", marked(sign(entry)));
    }
  }
}

function marked(node) {
  node.dataset.waits = "";
  return node;
}

function sign(entry) {
  const words = isRefused(entry) ? _("not taken") : waitsFor(reach.is);
  return made("span", { className: "sign sign-care", textContent: words });
}

function newItem(entry) {
  const item = made("li", {});
  item.append(link(addressOf(entry, location.href), entry.name), " ", sign(entry));
  return marked(item);
}
