// Where a dragged name may be dropped, and the question that the drop asks.

/** The part of a page under the pointer that takes the dragged name of the same session; null where none does. */
export function targetUnder(node, dragged) {
  if (!dragged) return null;
  const { session } = dragged.dataset;
  const person = node.closest("[data-place]");
  if (person && person !== dragged && person.dataset.session === session) return person;
  const cell = node.closest("[data-drop-hide]");
  if (!cell || cell.dataset.dropSession !== session) return null;
  return node.closest("[data-drop-seat]") ?? (cell.contains(dragged) ? null : cell);
}

/** The address of the form that shows the effect: to swap with a person, else to move to a seat or a hide. */
export function effectAddress(dragged, { place, dropSeat, dropHide }) {
  const question = place ? { kind: "swap", person: place } : { kind: "move" };
  if (!place && dropSeat) question.seat = dropSeat;
  else if (!place) question.hide = dropHide;
  return `${dragged.dataset.drag}?${new URLSearchParams(question)}`;
}
