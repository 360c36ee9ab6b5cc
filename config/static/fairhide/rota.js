// Dragging a name onto a free seat, a hide or another name leads to the form that shows the effect; nothing is saved by dropping.
(() => {
  "use strict";
  let dragged = null;

  const targetOf = (event) => {
    if (!dragged) return null;
    const person = event.target.closest("[data-place]");
    if (person && person !== dragged && person.dataset.session === dragged.dataset.session) return person;
    const cell = event.target.closest("[data-drop-hide]");
    if (!cell || cell.dataset.dropSession !== dragged.dataset.session) return null;
    return event.target.closest("[data-drop-seat]") || (cell.contains(dragged) ? null : cell);
  };

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
    const target = targetOf(event);
    clear();
    if (!target) return;
    event.preventDefault();
    event.dataTransfer.dropEffect = "move";
    target.classList.add("is-target");
  });

  document.addEventListener("drop", (event) => {
    const target = targetOf(event);
    if (!target) return;
    event.preventDefault();
    const question = new URLSearchParams();
    if (target.dataset.place) {
      question.set("kind", "swap");
      question.set("person", target.dataset.place);
    } else {
      question.set("kind", "move");
      if (target.dataset.dropSeat) question.set("seat", target.dataset.dropSeat);
      else question.set("hide", target.dataset.dropHide);
    }
    window.location.assign(`${dragged.dataset.drag}?${question}`);
  });

  document.addEventListener("dragend", () => {
    clear();
    if (dragged) dragged.classList.remove("is-dragged");
    dragged = null;
  });
})();
