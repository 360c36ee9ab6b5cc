// The position of the phone, handed to its own share sheet: the person chooses who gets it, the server never does.
import { say } from "./phone.js";
import { gettext as _ } from "./words.js";

const PATIENCE_MS = 20000;
const place = () => new Promise((resolve, reject) => {
  navigator.geolocation.getCurrentPosition(resolve, reject, { enableHighAccuracy: true, timeout: PATIENCE_MS });
});

async function share() {
  try {
    const { latitude, longitude, accuracy } = (await place()).coords;
    const at = { latitude: latitude.toFixed(5), longitude: longitude.toFixed(5), metres: Math.round(accuracy) };
    const text = _("I am at {latitude}, {longitude} (within {metres} m).", at);
    await navigator.share({ text: `${text} geo:${at.latitude},${at.longitude}` });
  } catch (trouble) {
    if (trouble?.name !== "AbortError") say("position", _("This phone does not know where it is."));
  }
}

for (const button of document.querySelectorAll("[data-share-position]")) {
  button.hidden = !(navigator.share && navigator.geolocation);
  button.addEventListener("click", share);
}
