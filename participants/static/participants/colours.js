// The chosen colours, also on a page that was kept before the choice, and the choice itself without a network.
const YEAR_S = 60 * 60 * 24 * 365;
const HEADS = { light: "#1e3c2c", dark: "#211d19", night: "#0c0000" }; // --head-ground of look.css
const chosen = () => /(?:^|; )scheme=(light|dark|night)(?:;|$)/.exec(document.cookie)?.[1] ?? "";

function show() {
  const scheme = chosen();
  if (scheme) document.documentElement.dataset.bsTheme = scheme;
  else delete document.documentElement.dataset.bsTheme;
  document.querySelector('meta[name="color-scheme"]').content = scheme === "night" ? "dark" : scheme || "light dark";
  for (const one of document.querySelectorAll('meta[name="theme-color"]')) {
    one.content = HEADS[scheme || (one.media?.includes("dark") ? "dark" : "light")];
  }
  for (const one of document.querySelectorAll(".scheme-switch [name=scheme]")) {
    one.setAttribute("aria-pressed", String(one.value === (scheme || "device")));
  }
}

function choose(event) {
  const form = event.target.closest(".scheme-switch");
  const scheme = event.submitter?.value;
  if (!form || !scheme) return;
  const lasts = scheme === "device" ? 0 : YEAR_S;
  const secure = location.protocol === "https:" ? "; secure" : "";
  document.cookie = `scheme=${scheme}; max-age=${lasts}; path=/; samesite=lax${secure}`;
  if ((chosen() || "device") !== scheme) return; // the form goes to the server, which sets the cookie itself
  event.preventDefault();
  show();
}

show();
document.addEventListener("DOMContentLoaded", show);
document.addEventListener("submit", choose);
