import assert from "node:assert/strict";
import { test } from "node:test";

import {
  addressOf, entryFor, isOpened, keptUntil, leadsTo, notSent, waitHere, waitsFor,
} from "../../participants/static/participants/waiting.js";

const HERE = "https://rota.example.org/my/ana/kit/?trip=t1";
const entry = (more = {}) => ({ client_uuid: "u1", kind: "wishes", page: "/my/ana/kit/", trip: "t1", ...more });
const form = (more = {}) => ({ kind: "wishes", trip: "t1", each: false, replaced: "", ...more });

test("an address leads to a page whatever it asks there", () => {
  assert.equal(leadsTo("/my/ana/kit/?trip=t2#u1", HERE), true);
  assert.equal(leadsTo("/my/ana/days/", HERE), false);
  assert.equal(leadsTo(undefined, HERE), false);
});

test("a form is filled in again on its page, about its trip", () => {
  assert.equal(addressOf(entry(), HERE), "/my/ana/kit/?trip=t1#u1");
  assert.equal(addressOf(entry({ trip: "" }), HERE, "/my/ana/kit/add/lens/"), "/my/ana/kit/add/lens/#u1");
});

test("a form shows the one of its kind and trip that waits", () => {
  const waits = entry();
  assert.equal(entryFor(form(), [entry({ kind: "details" }), waits], HERE), waits);
  assert.equal(entryFor(form({ trip: "t2" }), [waits], HERE), undefined);
  assert.equal(entryFor(form({ trip: "" }), [entry({ trip: undefined })], HERE).client_uuid, "u1");
});

test("of a form of which each waits only the opened one is shown", () => {
  const waits = entry();
  assert.equal(entryFor(form({ each: true }), [waits], HERE), undefined);
  assert.equal(entryFor(form({ each: true, replaced: "u1" }), [waits], HERE), waits);
});

test("a form whose row is gone is opened where it is filled in anew", () => {
  assert.equal(isOpened(entry({ page: "/gone/", elsewhere: "/my/ana/kit/" }), "u1", HERE), true);
  assert.equal(isOpened(entry({ page: "/gone/" }), "u1", HERE), false);
});

test("each way of not reaching the server has its words", () => {
  for (const is of ["away", "ill", "out"]) {
    assert.ok(waitsFor(is) && keptUntil(is, "Wishes").startsWith("Wishes: ") && notSent(is));
  }
  assert.equal(waitsFor("here"), "waits for a network");
  assert.equal(waitHere("here", "Wishes"), "Waits for a network: Wishes.");
});
