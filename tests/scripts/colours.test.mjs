import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";

const heard = {};
const meta = { content: "" };
const buttons = ["light", "dark", "device"].map((value) => ({
  value, setAttribute(name, said) { this[name] = said; },
}));
const page = {
  cookie: "other=1; scheme=dark",
  documentElement: { dataset: {} },
  querySelector: () => meta,
  querySelectorAll: () => buttons,
  addEventListener: (name, work) => { heard[name] = work; },
};

/** A page that takes cookies, or not. */
function cookiesAre(taken) {
  Object.defineProperty(page, "cookie", {
    configurable: true,
    get: () => page.kept ?? "",
    set: (said) => { if (taken) page.kept = /max-age=0/.test(said) ? "" : said.split(";")[0]; },
  });
}

const press = (value) => {
  const event = { target: { closest: () => ({}) }, submitter: { value }, prevented: false };
  heard.submit({ ...event, preventDefault: () => { event.prevented = true; } });
  return event.prevented;
};

globalThis.document = page;
globalThis.location = { protocol: "https:" };
await import("../../participants/static/participants/colours.js");
const first = { scheme: page.documentElement.dataset.bsTheme, meta: meta.content };

beforeEach(() => { page.kept = ""; cookiesAre(true); });

test("a page kept before the choice shows it at once", () => {
  assert.deepEqual(first, { scheme: "dark", meta: "dark" });
});

test("a choice is kept and shown without the server", () => {
  assert.equal(press("light"), true);
  assert.equal(page.kept, "scheme=light");
  assert.equal(page.documentElement.dataset.bsTheme, "light");
  assert.deepEqual(buttons.map((one) => one["aria-pressed"]), ["true", "false", "false"]);
});

test("as the device goes back to both", () => {
  press("dark");
  assert.equal(press("device"), true);
  assert.equal(page.documentElement.dataset.bsTheme, undefined);
  assert.equal(meta.content, "light dark");
});

test("where no cookie is kept the form goes to the server", () => {
  cookiesAre(false);
  assert.equal(press("dark"), false);
});

test("the night is dark for the browser's own parts", () => {
  press("night");
  assert.equal(page.documentElement.dataset.bsTheme, "night");
  assert.equal(meta.content, "dark");
});
