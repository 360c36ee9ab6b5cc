import assert from "node:assert/strict";
import { test } from "node:test";

import { fillForm, filledForm, nameOf, sameTrip } from "../../participants/static/participants/filled_form.js";

const form = (fields, dataset = {}) => {
  const elements = Object.assign([...fields], Object.fromEntries(fields.map((one) => [one.name, one])));
  return { elements, dataset };
};
const field = (name, value = "", more = {}) => ({ name, value, type: "text", ...more });

test("a form is called by the name typed in it, else by its pattern", () => {
  const lens = { queueName: "Lens, {focal_min_mm} mm" };
  assert.equal(nameOf(form([], { queueName: "Wishes" })), "Wishes");
  assert.equal(nameOf(form([field("name", " Long one "), field("focal_min_mm", "600")], lens)), "Long one");
  assert.equal(nameOf(form([field("name"), field("focal_min_mm", "600")], lens)), "Lens, 600 mm");
  assert.equal(nameOf(form([field("name"), field("focal_min_mm")], lens)), "Lens, … mm");
});

test("a choice is named by its words", () => {
  const mount = field("mount", "m1", { selectedOptions: [{ textContent: " Bean bag " }] });
  assert.equal(nameOf(form([mount], { queueName: "Support, {mount}" })), "Support, Bean bag");
});

test("a kept form stands there as it was typed", () => {
  const fields = [
    field("note", "old"), field("hat", "yes", { type: "checkbox", checked: true }),
    field("way", "car", { type: "radio" }), field("way", "foot", { type: "radio" }), field("", "nameless"),
    field("seen_version", "2", { type: "hidden" }), field("go", "Save", { type: "submit" }),
  ];
  const entry = { fields: [["note", "new"], ["way", "foot"], ["seen_version", "1"], ["go", "Again"]] };
  fillForm(form(fields), entry);
  assert.deepEqual(fields.map((one) => one.value), ["new", "yes", "car", "foot", "nameless", "2", "Save"]);
  assert.deepEqual(fields.slice(1, 4).map((one) => one.checked), [false, false, true]);
  fillForm(form(fields), entry, { hidden: true });
  assert.equal(fields[5].value, "1");
});

test("an address goes on about the trip that the page is about", () => {
  globalThis.location = new URL("https://hides.test/my/ana/kit/?trip=second#x");
  assert.equal(sameTrip("/my/ana/kit/add/lens/"), "/my/ana/kit/add/lens/?trip=second");
  assert.equal(sameTrip("/my/ana/kit/?trip=first"), "/my/ana/kit/?trip=first");
  assert.equal(sameTrip(undefined), undefined);
  globalThis.location = new URL("https://hides.test/my/ana/kit/");
  assert.equal(sameTrip("/my/ana/wishes/"), "/my/ana/wishes/");
});

test("a form of a kept page, which names no trip, is kept for the trip that the page was opened for", (t) => {
  globalThis.location = new URL("https://hides.test/my/ana/kit/picture/save/?trip=second");
  t.mock.method(globalThis, "FormData", function nothing() { return []; });
  const sent = { ...form([], { queue: "new", queueName: "Lens", queuePage: "/my/ana/kit/picture/save/" }),
    getAttribute: () => "/my/ana/kit/picture/save/" };
  const { path, page } = filledForm(sent, null);
  assert.deepEqual([path, page], Array(2).fill("/my/ana/kit/picture/save/?trip=second"));
});
