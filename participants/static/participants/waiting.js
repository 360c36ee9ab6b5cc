// Words about forms that wait: for what, where each is filled in again.
const WAITS_FOR = { away: "a network", ill: "the server", out: "you to sign in" };
const SENT_WHEN = {
  away: "there is a network", ill: "the server answers again", out: "you have signed in again",
};
const NOT_SENT = {
  away: "No network", ill: "The server does not answer", out: "You are signed out on this device",
};

export const waitsFor = (reach) => WAITS_FOR[reach] ?? WAITS_FOR.away;
export const sentWhen = (reach) => SENT_WHEN[reach];
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
