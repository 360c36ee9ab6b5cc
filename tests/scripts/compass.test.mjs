import assert from "node:assert/strict";
import { test } from "node:test";

import { apart, bothNorths, degrees, headingOf, mean, whole } from "../../trips/static/trips/compass.js";

test("the mean of headings goes across north", () => {
  assert.equal(degrees(mean([350, 340, 0])), "350.0");
  assert.ok(apart(mean([350, 10]), 0) < 1e-9);
  assert.equal(degrees(mean([90])), "90.0");
});

test("two bearings are apart by the shorter way", () => {
  assert.equal(apart(350, 10), 20);
  assert.equal(apart(10, 350), 20);
  assert.equal(apart(0, 180), 180);
});

test("bearings stay within one turn", () => {
  assert.equal(whole(-10), 350);
  assert.equal(whole(360), 0);
});

test("a heading is taken from either kind of compass, and never from a relative one", () => {
  assert.equal(headingOf({ webkitCompassHeading: 12 }), 12);
  assert.equal(headingOf({ webkitCompassHeading: -1 }), null);
  assert.equal(headingOf({ absolute: true, alpha: 90 }), 270);
  assert.equal(headingOf({ absolute: true, alpha: null }), null);
  assert.equal(headingOf({ absolute: false, alpha: 90 }), null);
});

test("both norths differ by the declination, east or west", () => {
  const facts = { bearing: 100, isMagnetic: true, declination: 1.5, compass: "good" };
  assert.equal(bothNorths(facts), "Compass 100.0°, true 101.5° (declination 1.5° east).");
  const west = { ...facts, isMagnetic: false, declination: -2 };
  assert.equal(bothNorths(west), "Compass 102.0°, true 100.0° (declination 2.0° west).");
  assert.match(bothNorths({ ...facts, compass: "of no use" }), /So near the magnetic pole a compass is of no use\.$/);
});
