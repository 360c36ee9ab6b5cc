// Words about forms that wait: for what, where each is filled in again.
import { gettext as _ } from "./words.js";

const WAITS = { away: _("waits for a network"), ill: _("waits for the server"), out: _("waits for you to sign in") };
const WAIT_HERE = {
  away: _("Waits for a network: {names}."),
  ill: _("Waits for the server: {names}."),
  out: _("Waits for you to sign in: {names}."),
};
const KEPT = {
  away: _("{name}: kept on this phone, sent when there is a network."),
  ill: _("{name}: kept on this phone, sent when the server answers again."),
  out: _("{name}: kept on this phone, sent when you have signed in again."),
};
const NOT_SENT = {
  away: _("No network: nothing was sent."),
  ill: _("The server does not answer: nothing was sent."),
  out: _("You are signed out on this device: nothing was sent."),
};

export const waitsFor = (reach) => WAITS[reach] ?? WAITS.away;
export const waitHere = (reach, names) => _(WAIT_HERE[reach] ?? WAIT_HERE.away, { names });
export const keptUntil = (reach, name) => _(KEPT[reach], { name });
export const notSent = (reach) => NOT_SENT[reach];

/** Whether an address leads to a page, whatever it asks there. */
export const leadsTo = (address, here) => Boolean(address)
  && new URL(address, here).pathname === new URL(here).pathname;

/** Where a form that is kept is filled in again: its page, about its trip. */
export function addressOf(entry, here, page = entry.page) {
  const address = new URL(page, here);
  if (entry.trip) address.searchParams.set("trip", entry.trip);
  return `${address.pathname}${address.search}#${entry.client_uuid}`;
}

/** Which of the forms that wait is shown in a form of a page: the one it was opened from, else the one of its kind. */
export function entryFor(form, entries, here) {
  const about = entries.filter((one) => (one.trip ?? "") === form.trip);
  const waits = form.each ? undefined : about.find((one) => leadsTo(one.page, here) && one.kind === form.kind);
  return about.find((one) => isOpened(one, form.replaced, here)) ?? waits;
}

/** Whether a form that waits is the one which the page was opened from. */
export const isOpened = (entry, uuid, here) => entry.client_uuid === uuid
  && (leadsTo(entry.page, here) || leadsTo(entry.elsewhere, here));
