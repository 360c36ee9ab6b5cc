import assert from "node:assert/strict";
import { test } from "node:test";

import { effectAddress, targetUnder } from "../../config/static/fairhide/dragging.js";

/** A part of the rota's page: `closest` finds itself or what it lies in, by the attribute asked for. */
function part(dataset, inside = null) {
  const own = Object.keys(dataset).map((name) => name.replace(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`));
  const node = { dataset, inside };
  node.closest = (asked) => (own.some((name) => asked === `[data-${name}]`) ? node : inside?.closest(asked) ?? null);
  node.contains = (other) => Boolean(other) && (other === node || node.contains(other.inside));
  return node;
}

const cell = (session = "s1") => part({ dropHide: "h1", dropSession: session });
const person = (inside, session = "s1") => part({ drag: "/turn/1/", place: "p1", session }, inside);

test("a name takes the place of another one of its session, not of itself", () => {
  const dragged = person(cell());
  const other = person(cell());
  assert.equal(targetUnder(other, dragged), other);
  assert.equal(targetUnder(dragged, dragged), null);
  assert.equal(targetUnder(other, null), null);
});

test("a name goes to another hide or a free seat of its session", () => {
  const home = cell();
  const dragged = person(home);
  const hide = cell();
  const seat = part({ dropSeat: "x1" }, hide);
  assert.equal(targetUnder(hide, dragged), hide);
  assert.equal(targetUnder(seat, dragged), seat);
  assert.equal(targetUnder(home, dragged), null);
  const free = part({ dropSeat: "x2" }, home);
  assert.equal(targetUnder(free, dragged), free);
});

test("nothing of another session takes a name", () => {
  const dragged = person(cell());
  assert.equal(targetUnder(cell("s2"), dragged), null);
  assert.equal(targetUnder(person(cell("s2"), "s2"), dragged), null);
  assert.equal(targetUnder(part({}), dragged), null);
});

test("a drop asks for the effect of a swap or a move", () => {
  const dragged = person(cell());
  assert.equal(effectAddress(dragged, { place: "p2" }), "/turn/1/?kind=swap&person=p2");
  assert.equal(effectAddress(dragged, { dropSeat: "x1" }), "/turn/1/?kind=move&seat=x1");
  assert.equal(effectAddress(dragged, { dropHide: "h1" }), "/turn/1/?kind=move&hide=h1");
});
