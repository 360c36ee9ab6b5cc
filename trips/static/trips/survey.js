// Measuring on the spot: the place from the browser, the bearing from the compass, each on a press.
import { apart, bothNorths, degrees, headingOf, mean } from "./compass.js";

const GOOD_ENOUGH_M = 5;
const ROUGH_M = 30;
const PATIENCE_MS = 15000;
const COMPASS_MS = 1500;
const NO_COMPASS_MS = 4000;
const FLAT_DEG = 50;
const REFUSED = 1; // GeolocationPositionError.PERMISSION_DENIED
const NO_PLACE = "No place found: go under the open sky and press again, or type the position.";
const PLACE_REFUSED = "This browser may not tell its place: allow it in its settings, or type the position.";

const field = (form, name) => [...form.elements].find((one) => one.name.endsWith(`-${name}`));
const say = (form, text) => { form.querySelector("[data-said]").textContent = text; };

function fill(box, value) {
  box.value = value;
  box.dispatchEvent(new Event("change", { bubbles: true }));
}

// --- Place: the best of what comes in some seconds, with its accuracy ----------------------------------------------
function takePosition(form, button) {
  let best = null;
  button.disabled = true;
  say(form, "Looking for satellites …");
  const stop = () => {
    navigator.geolocation.clearWatch(watch);
    clearTimeout(patience);
    button.disabled = false;
  };
  const found = ({ coords }) => {
    if (best && coords.accuracy >= best.accuracy) return;
    best = coords;
    fill(field(form, "position"), `${coords.latitude.toFixed(7)}, ${coords.longitude.toFixed(7)}`);
    const rough = coords.accuracy > ROUGH_M ? " That is rough: wait under the open sky and press again." : "";
    say(form, `Taken, ± ${Math.round(coords.accuracy)} m.${rough}`);
    if (coords.accuracy <= GOOD_ENOUGH_M) stop();
  };
  const failed = ({ code }) => {
    stop();
    if (!best) say(form, code === REFUSED ? PLACE_REFUSED : NO_PLACE);
  };
  const how = { enableHighAccuracy: true, maximumAge: 0, timeout: PATIENCE_MS };
  const watch = navigator.geolocation.watchPosition(found, failed, how);
  const patience = setTimeout(stop, PATIENCE_MS);
}

// --- Compass: the heading of the phone's upper edge, averaged ------------------------------------------------------
async function mayReadCompass() {
  if (typeof DeviceOrientationEvent.requestPermission !== "function") return true;
  return (await DeviceOrientationEvent.requestPermission().catch(() => "denied")) === "granted";
}

// All headings of the time that a reading takes, and whether the phone was tilted at its end.
function readCompass() {
  const kind = "ondeviceorientationabsolute" in window ? "deviceorientationabsolute" : "deviceorientation";
  const headings = [];
  let tilted = false;
  let done = null;
  return new Promise((resolve) => {
    const finish = () => {
      window.removeEventListener(kind, heard);
      clearTimeout(never);
      resolve({ headings, tilted });
    };
    const heard = (event) => {
      const heading = headingOf(event);
      if (heading === null) return;
      headings.push(heading);
      tilted = Math.abs(event.beta ?? 0) > FLAT_DEG || Math.abs(event.gamma ?? 0) > FLAT_DEG;
      done ??= setTimeout(finish, COMPASS_MS);
    };
    const never = setTimeout(() => { if (!headings.length) finish(); }, NO_COMPASS_MS);
    window.addEventListener(kind, heard);
  });
}

async function takeBearing(form, button) {
  if (!await mayReadCompass()) {
    say(form, "This browser may not read the compass: allow it, or type the bearing.");
    return;
  }
  button.disabled = true;
  say(form, "Hold the phone flat, its upper edge towards the subject …");
  const { headings, tilted } = await readCompass();
  button.disabled = false;
  if (!headings.length) {
    say(form, "This device gives no compass. Read one and type its bearing.");
    return;
  }
  const bearing = mean(headings);
  const today = new Date(Date.now() - new Date().getTimezoneOffset() * 60000).toISOString().slice(0, 10);
  fill(field(form, "bearing_is"), "magnetic");
  fill(field(form, "measured_on"), today);
  fill(field(form, "bearing_deg"), degrees(bearing));
  const spread = Math.max(...headings.map((one) => apart(one, bearing)));
  const moved = spread >= 1 ? ` The needle moved by ± ${Math.round(spread)}°.` : "";
  tellBearing(form, moved + (tilted ? " Hold the phone flat and press again." : ""));
}

// Both norths, while the bearing is typed or taken.
function tellBearing(form, more = "") {
  const hide = form.closest("[data-declination]");
  const typed = field(form, "bearing_deg").value.trim().replace(",", ".");
  if (!hide || typed === "" || Number.isNaN(Number(typed))) return;
  const { declination, compass } = hide.dataset;
  const isMagnetic = field(form, "bearing_is").value === "magnetic";
  say(form, bothNorths({ bearing: Number(typed), isMagnetic, declination: Number(declination), compass }) + more);
}

// --- Buttons -------------------------------------------------------------------------------------------------------
function pressed({ target }) {
  const button = target.closest("[data-take], [data-fill]");
  if (!button) return;
  if (button.dataset.fill) fill(field(button.form, "position"), button.dataset.fill);
  else if (button.dataset.take === "position") takePosition(button.form, button);
  else takeBearing(button.form, button);
}

const can = {
  position: window.isSecureContext && "geolocation" in navigator,
  bearing: window.isSecureContext && "DeviceOrientationEvent" in window,
};
for (const button of document.querySelectorAll("[data-take]")) {
  const what = button.dataset.take;
  button.hidden = !can[what];
  if (button.hidden) say(button.form, `This browser gives no ${what} here (it needs https): type it.`);
}
for (const button of document.querySelectorAll("[data-fill]")) button.hidden = false;
document.addEventListener("click", pressed);
document.addEventListener("input", ({ target }) => {
  if (/-bearing_(deg|is)$/.test(target.name ?? "")) tellBearing(target.form);
});
