// How many votes are left, counted while they are spent.
import { ngettext } from "./words.js";

const grid = document.querySelector("[data-votes]");
const fields = [...(grid?.querySelectorAll("input, select") ?? [])];

function count() {
  const left = Number(grid.dataset.votes) - fields.reduce((sum, field) => sum + (Number(field.value) || 0), 0);
  grid.querySelector("output").textContent = left < 0
    ? ngettext("{number} vote too many: take it back.", "{number} votes too many: take some back.", -left)
    : ngettext("{number} vote left", "{number} votes left", left);
}

if (grid) {
  const told = document.createElement("output");
  told.className = "votes-left";
  grid.prepend(told);
  grid.addEventListener("input", count);
  document.addEventListener("filled", count); // a form that waited was put back
  count();
}
