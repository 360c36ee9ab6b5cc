"use strict";
// What the scripts of a participant's page share: whose page it is, the lines that say how things stand, the server's word.
const phone = (() => {
  const PATIENCE_MS = 10000;
  const meta = (name, page = document) => page.querySelector(`meta[name="${name}"]`)?.content ?? "";
  const person = meta("person"), zone = meta("site-zone"), servedAt = new Date(meta("served-at"));
  const bar = document.getElementById("phone-state");
  const lines = new Map();

  // One line for each key; no text takes it away.
  function say(key, text, buttons = []) {
    if (text) lines.set(key, { text, buttons });
    else lines.delete(key);
    bar.replaceChildren(...[...lines.values()].map(({ text: words, buttons: list }) => {
      const line = document.createElement("p");
      line.append(words, " ", ...list.flatMap((one) => [one, " "]));
      return line;
    }));
    bar.hidden = lines.size === 0;
  }

  function button(label, work) {
    const made = Object.assign(document.createElement("button"), { type: "button", className: "btn btn-secondary btn-sm", textContent: label });
    made.addEventListener("click", work);
    return made;
  }

  const link = (address, text) => Object.assign(document.createElement("a"), { href: address, textContent: text });

  const clock = (moment) => new Intl.DateTimeFormat("en-GB", {
    weekday: "short", day: "numeric", month: "short", hour: "2-digit", minute: "2-digit", timeZone: zone || undefined,
  }).format(moment);

  // How the server is reached: "here" with what it said (a fresh form token among it), "out" (this person is not signed
  // in here), "ill" (it answers with a fault of its own) or "away" (no network).
  async function ask() {
    try {
      const answer = await fetch(`/my/${person}/pack.json`, { cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
      if (answer.redirected || answer.status === 404) return { is: "out" };
      return answer.ok ? { is: "here", said: await answer.json() } : { is: "ill" };
    } catch {
      return { is: "away" };
    }
  }

  return {
    meta, person, zone, servedAt, say, button, link, clock, ask,
    runs: Boolean(person && bar), says: (key) => lines.has(key), edition: meta("edition"), typed: false,
  };
})();
