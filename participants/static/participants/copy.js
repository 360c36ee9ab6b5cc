"use strict";
// Buttons that copy a field: shown only where the browser can do it.
if (navigator.clipboard) {
  for (const button of document.querySelectorAll("[data-copy]")) {
    const field = document.getElementById(button.dataset.copy);
    const said = document.querySelector("[data-copied]");
    button.hidden = false;
    button.addEventListener("click", async () => {
      field.select();
      await navigator.clipboard.writeText(field.value);
      if (said) said.textContent = "Copied.";
    });
  }
}
