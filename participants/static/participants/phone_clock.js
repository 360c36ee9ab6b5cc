// The clock of a phone beside the server's: numbers and words alone.
import { gettext as _, ngettext } from "./words.js";

export const CLOCK_SLACK_MS = 120000;

/** How far the server's clock is ahead of the phone's; the answer was written in the middle of the asking. */
export const offsetOf = (serverNow, before, after) => Math.round(Date.parse(serverNow) - (before + after) / 2);

const written = (moment, zone) => new Intl.DateTimeFormat("en-GB", {
  dateStyle: "short", timeStyle: "short", timeZone: zone,
}).format(moment);

/** What a reader has to know about the clock of this phone; nothing where it goes right, in the zone of the page. */
export function clockWarning({ offsetMs, moment, zone, here }) {
  if (Math.abs(offsetMs) > CLOCK_SLACK_MS) {
    const minutes = Math.round(Math.abs(offsetMs) / 60000);
    return offsetMs > 0
      ? _("The clock of this phone is {minutes} min behind. The times on this page are right.", { minutes })
      : _("The clock of this phone is {minutes} min ahead. The times on this page are right.", { minutes });
  }
  if (!zone || !here || written(moment, here) === written(moment, zone)) return "";
  return _("This phone shows the time of {here}; the times here are those of {zone}.", { here, zone });
}

/** How long until one leaves, then until the session ends; as `countdown_words` of the server says it. */
export function countdown(leavesAtMs, endsAtMs, nowMs) {
  if (nowMs >= endsAtMs) return _("over");
  if (nowMs >= leavesAtMs) return _("ends in {time}", { time: span(endsAtMs - nowMs) });
  return _("in {time}", { time: span(leavesAtMs - nowMs) });
}

function span(lengthMs) {
  const minutes = Math.ceil(lengthMs / 60000);
  if (minutes >= 2 * 1440) return ngettext("{number} day", "{number} days", Math.round(minutes / 1440));
  const [hours, rest] = [Math.floor(minutes / 60), minutes % 60];
  return hours ? _("{hours} h {minutes} min", { hours, minutes: rest }) : _("{minutes} min", { minutes: rest });
}

/** Index of the latest of these moments, in order, that has come; -1 before the first and from the last on. */
export function presentOf(moments, nowMs) {
  const come = moments.filter((moment) => Date.parse(moment) <= nowMs).length;
  return come === moments.length ? -1 : come - 1;
}

const spoken = () => globalThis.document?.documentElement?.lang || "en-GB";

/** A moment as people read it, by the clock of the zone, or of the phone where no zone is known. */
export const readable = (moment, zone) => new Intl.DateTimeFormat(spoken(), {
  weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", timeZone: zone || undefined,
}).format(moment);
