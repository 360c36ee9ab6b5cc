import assert from "node:assert/strict";
import { test } from "node:test";

// The page stands in before the module reads it.
const words = { "Sent: {names}.": "Gesendet: {names}.", "{number} form": ["{number} Formular", "{number} Formulare"] };
globalThis.document = { getElementById: () => ({ textContent: JSON.stringify(words) }) };
const { gettext, ngettext } = await import("../../participants/static/participants/words.js");

test("a sentence is said in the language that the page brought, with its values", () => {
  assert.equal(gettext("Sent: {names}.", { names: "Wünsche {x}" }), "Gesendet: Wünsche {x}.");
  assert.equal(gettext("Close"), "Close");
});

test("a number has its form, translated or not", () => {
  assert.equal(ngettext("{number} form", "{number} forms", 1), "1 Formular");
  assert.equal(ngettext("{number} form", "{number} forms", 2), "2 Formulare");
  assert.equal(ngettext("{number} trip", "{number} trips", 0), "0 trips");
});
