import assert from "node:assert/strict";
import { test } from "node:test";

import { FormQueue, isRefused, replaces, waitedSeconds } from "../../participants/static/participants/queue.js";
import { failed, filled, memoryStore, refused, serveBy, taken } from "./kept_forms.mjs";

const AWAY = new TypeError("no network");

function queueOf(owner = "ana", more = {}) {
  const store = more.store ?? memoryStore();
  let clock = Date.parse("2026-05-01T06:00:00Z");
  const now = () => { clock += 1000; return clock; };
  return new FormQueue({ owner, store, now, ...more });
}

test("a form is kept with its owner, its moment and an own uuid", async () => {
  const queue = queueOf();
  const entry = await queue.add(filled());
  assert.deepEqual(await queue.all(), [entry]);
  assert.equal(entry.person, "ana");
  assert.equal(entry.queued_at, "2026-05-01T06:00:01.000Z");
  assert.match(entry.client_uuid, /^[0-9a-f-]{36}$/);
  assert.deepEqual(entry.errors, []);
  assert.ok(!("row_uuid" in entry) && !("each" in entry) && !("replaced" in entry));
});

test("what waits is sent in the order in which it was filled in, each once", async (t) => {
  const asked = serveBy(t, taken());
  const queue = queueOf();
  for (const kind of ["first", "second", "third"]) await queue.add(filled({ kind, path: `/${kind}/` }));
  const { sent, is } = await queue.flush("token");
  assert.equal(is, "sent");
  assert.deepEqual(sent.map((entry) => entry.kind), ["first", "second", "third"]);
  assert.deepEqual(asked.map((one) => one.path), ["/first/", "/second/", "/third/"]);
  assert.deepEqual(await queue.all(), []);
  await queue.flush("token");
  assert.equal(asked.length, 3);
});

test("two calls at the same time send nothing twice", async (t) => {
  const asked = serveBy(t, taken());
  const queue = queueOf();
  await queue.add(filled());
  const both = await Promise.all([queue.flush("one"), queue.flush("two")]);
  assert.deepEqual(both.map(({ sent }) => sent.length), [1, 0]);
  assert.equal(asked.length, 1);
});

test("a form whose answer was lost keeps its uuid, by which the server takes it once", async (t) => {
  const asked = serveBy(t, AWAY, taken());
  const queue = queueOf();
  const { client_uuid: uuid } = await queue.add(filled());
  assert.deepEqual(await queue.flush("token"), { sent: [], is: "away" });
  assert.equal((await queue.flush("token")).sent.length, 1);
  assert.deepEqual(asked.map((one) => one.fields.client_uuid), [uuid, uuid]);
});

test("an answer cut short counts as no network", async (t) => {
  serveBy(t, { ok: true, status: 200, json: async () => { throw new SyntaxError("cut"); } });
  const queue = queueOf();
  await queue.add(filled());
  assert.deepEqual(await queue.flush("token"), { sent: [], is: "away" });
  assert.equal((await queue.own()).length, 1);
});

test("without a network nothing behind the first is tried, with an ill server all are", async (t) => {
  const queue = queueOf();
  for (const kind of ["first", "second"]) await queue.add(filled({ kind }));
  const away = serveBy(t, AWAY);
  assert.equal((await queue.flush("token")).is, "away");
  assert.equal(away.length, 1);
  t.mock.restoreAll();
  const ill = serveBy(t, failed(503));
  assert.equal((await queue.flush("token")).is, "ill");
  assert.equal(ill.length, 2);
  assert.equal((await queue.own()).length, 2);
});

test("what is refused stays with its reasons and is not sent again", async (t) => {
  const asked = serveBy(t, refused({ errors: ["Too late."], page: "<main></main>" }));
  const queue = queueOf();
  const entry = await queue.add(filled());
  assert.deepEqual(await queue.send(entry, "token", "now"), { is: "refused", page: "<main></main>" });
  const [kept] = await queue.all();
  assert.ok(isRefused(kept));
  assert.deepEqual(kept.errors, ["Too late."]);
  await queue.flush("token");
  assert.equal(asked.length, 1);
});

test("a form about something that is gone says so", async (t) => {
  serveBy(t, failed(404));
  const queue = queueOf();
  await queue.add(filled());
  await queue.flush("token");
  const [kept] = await queue.all();
  assert.equal(kept.gone, true);
  assert.deepEqual(kept.errors, ["What this was about is no longer there."]);
});

test("a form taken back while its refusal came does not return", async (t) => {
  const queue = queueOf();
  const entry = await queue.add(filled());
  serveBy(t, async () => { await queue.remove(entry.client_uuid); return refused({ errors: ["Stale."] }); });
  await queue.send(entry, "token");
  assert.deepEqual(await queue.all(), []);
});

test("a form of another owner is seen and neither sent nor replaced", async (t) => {
  const asked = serveBy(t, taken());
  const store = memoryStore();
  await queueOf("ana", { store }).add(filled());
  const queue = queueOf("leader-7", { store });
  await queue.add(filled());
  assert.equal((await queue.all()).length, 2);
  assert.equal((await queue.own()).length, 1);
  await queue.flush("token");
  assert.equal(asked.length, 1);
  assert.deepEqual((await queue.all()).map((entry) => entry.person), ["ana"]);
});

test("a form that a press is sending is left out", async (t) => {
  const asked = serveBy(t, taken());
  const queue = queueOf();
  await queue.add(filled());
  await queue.flush("token", (entry) => entry.kind === "wishes");
  assert.equal(asked.length, 0);
});

test("the server hears the token, the manner and how long the form waited", async (t) => {
  const asked = serveBy(t, taken({ next: "/my/" }));
  const heard = [];
  const queue = queueOf("ana", { sent: (entry, said) => heard.push([entry.kind, said.next]) });
  await queue.send(await queue.add(filled()), "token", "now");
  assert.deepEqual(asked[0].headers, { "X-CSRFToken": "token", "X-Queued": "now", "X-Queued-Seconds": "1" });
  assert.equal(asked[0].fields.note, "kingfisher");
  assert.deepEqual(heard, [["wishes", "/my/"]]);
});

test("a later filling takes the place of an earlier one of its kind, trip and address", async () => {
  const queue = queueOf();
  await queue.add(filled({ fields: [["note", "heron"]] }));
  await queue.add(filled({ fields: [["note", "otter"]] }));
  await queue.add(filled({ trip: "another" }));
  await queue.add(filled({ kind: "details" }));
  assert.deepEqual((await queue.own()).map((entry) => entry.fields[0][1]), ["otter", "kingfisher", "kingfisher"]);
});

test("of a form of which each waits a changed one makes the same row", async () => {
  const queue = queueOf();
  const lens = filled({ kind: "new-lens", each: true });
  const first = await queue.add(lens);
  const second = await queue.add(lens);
  assert.equal((await queue.own()).length, 2);
  assert.notEqual(first.row_uuid, second.row_uuid);
  const changed = await queue.add({ ...lens, replaced: first.client_uuid });
  assert.equal(changed.row_uuid, first.row_uuid);
  assert.equal((await queue.own()).length, 2);
});

test("one of a kind replaces whatever its address", () => {
  const older = { client_uuid: "a", kind: "code", trip: "", path: "/one/" };
  assert.equal(replaces(filled({ kind: "code", path: "/two/" }), older), false);
  assert.equal(replaces(filled({ kind: "code", path: "/two/", one: true }), older), true);
  assert.equal(replaces(filled({ kind: "code", path: "/one/" }), { ...older, trip: undefined }), true);
});

test("a clock that was put back makes no negative wait", () => {
  const entry = { queued_at: "2026-05-01T06:00:00Z" };
  assert.equal(waitedSeconds(entry, Date.parse("2026-05-01T06:01:30Z")), 90);
  assert.equal(waitedSeconds(entry, Date.parse("2026-05-01T05:00:00Z")), 0);
});
