// Who is out and back, on a page that stays open: what the last answer of the server cannot know any more.
const LOOK_MS = 20000;
let pressed = "";

const isTicked = (row) => Boolean(row.querySelector('form[data-queue^="back-"] [data-note]')?.textContent);

// The pick-up window is over by this device's clock, and somebody who is out has no tick "back", sent or waiting.
function lookForOverdue() {
  for (const section of document.querySelectorAll("section[data-due]")) {
    const sign = section.querySelector("[data-overdue]");
    if (!sign || Date.now() <= Date.parse(section.dataset.due)) continue;
    const missing = [...section.querySelectorAll('li[data-state="out"]')].filter((row) => !isTicked(row));
    sign.hidden = !missing.length;
    if (missing.length) section.querySelector("details").open = true;
  }
}

// The list is drawn anew after a tick: the keyboard stays with the person who was ticked.
function keepFocus() {
  if (!pressed || document.activeElement !== document.body) return;
  document.querySelector(`li[data-person="${pressed}"] button`)?.focus();
}

document.addEventListener("submit", (event) => {
  pressed = event.target.closest("li[data-person]")?.dataset.person ?? "";
});
document.addEventListener("htmx:afterSwap", () => {
  keepFocus();
  pressed = "";
  lookForOverdue();
});
// Nobody is asked where there is no network: the list stays as it is.
document.addEventListener("htmx:beforeRequest", (event) => { if (!navigator.onLine) event.preventDefault(); });
setInterval(lookForOverdue, LOOK_MS);
lookForOverdue();
