// Dragging a name onto a free seat, a hide or another name leads to the form that shows the effect.
// A drop saves nothing.
import { effectAddress, targetUnder } from "./dragging.js";

let dragged = null;

const clear = () => document.querySelectorAll(".is-target").forEach((one) => one.classList.remove("is-target"));

document.addEventListener("dragstart", (event) => {
  const person = event.target.closest("[data-drag]");
  if (!person) return;
  dragged = person;
  person.classList.add("is-dragged");
  event.dataTransfer.effectAllowed = "move";
  event.dataTransfer.setData("text/plain", person.dataset.drag);
});

document.addEventListener("dragover", (event) => {
  const target = targetUnder(event.target, dragged);
  clear();
  if (!target) return;
  event.preventDefault();
  event.dataTransfer.dropEffect = "move";
  target.classList.add("is-target");
});

document.addEventListener("drop", (event) => {
  const target = targetUnder(event.target, dragged);
  if (!target) return;
  event.preventDefault();
  window.location.assign(effectAddress(dragged, target.dataset));
});

document.addEventListener("dragend", () => {
  clear();
  if (dragged) dragged.classList.remove("is-dragged");
  dragged = null;
});
