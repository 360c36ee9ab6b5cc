// Buttons that copy a field: shown only where the browser can do it.
import { gettext as _ } from "./words.js";

function offer(button) {
  const field = document.getElementById(button.dataset.copy);
  const said = document.querySelector("[data-copied]");
  button.hidden = false;
  button.addEventListener("click", async () => {
    field.select();
    await navigator.clipboard.writeText(field.value);
    if (said) said.textContent = _("Copied.");
  });
}

if (navigator.clipboard) document.querySelectorAll("[data-copy]").forEach(offer);
