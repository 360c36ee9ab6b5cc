"use strict";
// Measuring on the spot: the place from the browser, the bearing from the compass, each on a press.
(() => {
  const GOOD_ENOUGH_M = 5, PATIENCE_MS = 15000, COMPASS_MS = 1500, NO_COMPASS_MS = 4000, FLAT_DEG = 50;
  const field = (form, name) => [...form.elements].find((one) => one.name.endsWith(`-${name}`));
  const say = (form, text) => { form.querySelector("[data-said]").textContent = text; };
  const degrees = (value) => (Math.round(value * 10) / 10).toFixed(1);
  const whole = (value) => ((value % 360) + 360) % 360;

  function fill(box, value) {
    box.value = value;
    box.dispatchEvent(new Event("change", { bubbles: true }));
  }

  // --- Place: the best of what comes in some seconds, with its accuracy --------------------------------------------
  function takePosition(form, button) {
    let best = null;
    button.disabled = true;
    say(form, "Looking for satellites …");
    const stop = () => { navigator.geolocation.clearWatch(watch); clearTimeout(patience); button.disabled = false; };
    const watch = navigator.geolocation.watchPosition(({ coords }) => {
      if (best && coords.accuracy >= best.accuracy) return;
      best = coords;
      fill(field(form, "position"), `${coords.latitude.toFixed(7)}, ${coords.longitude.toFixed(7)}`);
      const rough = coords.accuracy > 30 ? " That is rough: wait under the open sky and press again." : "";
      say(form, `Taken, ± ${Math.round(coords.accuracy)} m.${rough}`);
      if (coords.accuracy <= GOOD_ENOUGH_M) stop();
    }, (failed) => {
      stop();
      if (!best) say(form, failed.code === 1 ? "This browser may not tell its place: allow it in its settings, or type the position." : "No place found: go under the open sky and press again, or type the position.");
    }, { enableHighAccuracy: true, maximumAge: 0, timeout: PATIENCE_MS });
    const patience = setTimeout(stop, PATIENCE_MS);
  }

  // --- Compass: the heading of the phone's upper edge, averaged ------------------------------------------------------
  // W3C Device Orientation: alpha turns anticlockwise about the vertical, so the upper edge points along 360 - alpha
  // from magnetic north, whatever the tilt up to 90 degrees.
  function headingOf(event) {
    if (typeof event.webkitCompassHeading === "number") return event.webkitCompassHeading < 0 ? null : event.webkitCompassHeading;
    return event.absolute && event.alpha !== null ? whole(360 - event.alpha) : null;
  }

  function mean(headings) {
    const sum = (work) => headings.reduce((total, one) => total + work(one * Math.PI / 180), 0);
    return whole(Math.atan2(sum(Math.sin), sum(Math.cos)) * 180 / Math.PI);
  }

  const apart = (one, other) => Math.abs(((one - other + 540) % 360) - 180);

  async function takeBearing(form, button) {
    if (typeof DeviceOrientationEvent.requestPermission === "function") {
      const allowed = await DeviceOrientationEvent.requestPermission().catch(() => "denied");
      if (allowed !== "granted") return say(form, "This browser may not read the compass: allow it, or type the bearing.");
    }
    const kind = "ondeviceorientationabsolute" in window ? "deviceorientationabsolute" : "deviceorientation";
    const headings = [];
    let tilted = false, done = null;
    button.disabled = true;
    say(form, "Hold the phone flat, its upper edge towards the subject …");
    const heard = (event) => {
      const heading = headingOf(event);
      if (heading === null) return;
      headings.push(heading);
      tilted = Math.abs(event.beta ?? 0) > FLAT_DEG || Math.abs(event.gamma ?? 0) > FLAT_DEG;
      done ??= setTimeout(finish, COMPASS_MS);
    };
    const never = setTimeout(() => { if (!headings.length) finish(); }, NO_COMPASS_MS);
    const finish = () => {
      window.removeEventListener(kind, heard);
      clearTimeout(never);
      button.disabled = false;
      if (!headings.length) return say(form, "This device gives no compass. Read one and type its bearing.");
      const bearing = mean(headings);
      fill(field(form, "bearing_is"), "magnetic");
      fill(field(form, "measured_on"), new Date(Date.now() - new Date().getTimezoneOffset() * 60000).toISOString().slice(0, 10));
      fill(field(form, "bearing_deg"), degrees(bearing));
      const spread = Math.max(...headings.map((one) => apart(one, bearing)));
      return tellBearing(form, `${spread >= 1 ? ` The needle moved by ± ${Math.round(spread)}°.` : ""}${tilted ? " Hold the phone flat and press again." : ""}`);
    };
    window.addEventListener(kind, heard);
    return undefined;
  }

  // Both norths, while the bearing is typed or taken.
  function tellBearing(form, more = "") {
    const hide = form.closest("[data-declination]"), bearing = Number(field(form, "bearing_deg").value);
    if (!hide || field(form, "bearing_deg").value === "" || Number.isNaN(bearing)) return;
    const declination = Number(hide.dataset.declination), magnetic = field(form, "bearing_is").value === "magnetic";
    const compass = whole(magnetic ? bearing : bearing - declination), real = whole(magnetic ? bearing + declination : bearing);
    const poor = hide.dataset.compass === "good" ? "" : ` So near the magnetic pole a compass is ${hide.dataset.compass}.`;
    say(form, `Compass ${degrees(compass)}°, true ${degrees(real)}° (declination ${degrees(Math.abs(declination))}° ${declination >= 0 ? "east" : "west"}).${poor}${more}`);
  }

  function pressed({ target }) {
    const button = target.closest("[data-take], [data-fill]");
    if (!button) return;
    if (button.dataset.fill) fill(field(button.form, "position"), button.dataset.fill);
    else if (button.dataset.take === "position") takePosition(button.form, button);
    else takeBearing(button.form, button);
  }

  const can = { position: window.isSecureContext && "geolocation" in navigator, bearing: window.isSecureContext && "DeviceOrientationEvent" in window };
  for (const button of document.querySelectorAll("[data-take]")) {
    button.hidden = !can[button.dataset.take];
    if (button.hidden) say(button.form, `This browser gives no ${button.dataset.take} here (it needs https): type it.`);
  }
  for (const button of document.querySelectorAll("[data-fill]")) button.hidden = false;
  document.addEventListener("click", pressed);
  document.addEventListener("input", ({ target }) => { if (/-bearing_(deg|is)$/.test(target.name ?? "")) tellBearing(target.form); });
})();
