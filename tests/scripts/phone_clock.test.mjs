import assert from "node:assert/strict";
import { test } from "node:test";

import {
  clockWarning, countdown, offsetOf, presentOf, readable,
} from "../../participants/static/participants/phone_clock.js";

const moment = new Date("2026-05-01T06:00:00Z");
const facts = { offsetMs: 0, moment, zone: "Europe/Madrid", here: "Europe/Madrid" };

test("the server's moment is compared with the middle of the asking", () => {
  const before = Date.parse("2026-05-01T06:00:00Z");
  assert.equal(offsetOf("2026-05-01T06:00:05Z", before, before + 2000), 4000);
});

test("a clock that goes right in the zone of the page needs no words", () => {
  assert.equal(clockWarning(facts), "");
  assert.equal(clockWarning({ ...facts, offsetMs: 120000 }), "");
});

test("a wrong clock is told with its minutes and direction", () => {
  assert.match(clockWarning({ ...facts, offsetMs: 47 * 60000 }), /is 47 min behind\./);
  assert.match(clockWarning({ ...facts, offsetMs: -180000 }), /is 3 min ahead\./);
});

test("another zone is told only where its clock shows another time", () => {
  assert.match(clockWarning({ ...facts, here: "Europe/London" }), /time of Europe\/London; .* Europe\/Madrid\./);
  assert.equal(clockWarning({ ...facts, here: "Europe/Paris" }), "");
  assert.equal(clockWarning({ ...facts, zone: "" }), "");
});

test("a moment is read by the clock of the page's zone", () => {
  assert.match(readable(moment, "Europe/Madrid"), /^Fri,? 1 May,? 08:00$|^Fri 1 May at 08:00$/);
});

test("the settings of now are those of the latest moment that has come, until the last", () => {
  const moments = ["2026-05-01T06:00:00Z", "2026-05-01T06:20:00Z", "2026-05-01T08:00:00Z"];
  const at = (time) => presentOf(moments, Date.parse(`2026-05-01T${time}Z`));
  assert.deepEqual([at("05:59:59"), at("06:00:00"), at("07:59:59"), at("08:00:00")], [-1, 0, 1, -1]);
  assert.equal(presentOf([], Date.parse(moments[0])), -1);
});

test("the countdown is to the leave, then to the end of the session", () => {
  const min = 60000;
  const at = (minutes) => countdown(0, 240 * min, minutes * min);
  assert.deepEqual([-2 * 1440, -312.5, -60, -12.2, 0, 239.5, 240].map(at), [
    "in 2 days", "in 5 h 13 min", "in 1 h 0 min", "in 13 min", "ends in 4 h 0 min", "ends in 1 min", "over",
  ]);
});
