// Dragging a name onto a free seat, a hide or another name leads to the form that shows the effect.
// A drop saves nothing. A turn under the pointer or the keyboard shows its light, gear, company and why beside it.
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

const peek = document.getElementById("peek");
const WAIT_MS = 250; // the pointer only passes over most turns
let opened = null;
let waiting = 0;

const close = () => {
  clearTimeout(waiting);
  opened = null;
  peek.hidden = true;
};

/** The card beside a turn, on the side with more room, within its table. */
function place(turn) {
  const [room, at] = [peek.offsetParent.getBoundingClientRect(), turn.getBoundingClientRect()];
  const onLeft = at.left - room.left > room.right - at.right;
  const left = onLeft ? at.left - room.left - peek.offsetWidth : at.right - room.left;
  const top = Math.min(at.top - room.top, Math.max(room.height, window.innerHeight - room.top) - peek.offsetHeight);
  peek.style.left = `${Math.max(0, left)}px`;
  peek.style.top = `${Math.max(0, top)}px`;
}

async function show(turn) {
  opened = turn;
  const answer = await fetch(turn.href, { headers: { "HX-Request": "true" } }).catch(() => null);
  if (!answer?.ok || answer.redirected || opened !== turn) return;
  peek.innerHTML = await answer.text();
  if (opened !== turn) return;
  peek.hidden = false;
  place(turn);
}

function look(event) {
  const turn = event.target.closest(".glance-turn");
  if (turn === opened && turn) return;
  clearTimeout(waiting);
  if (event.target.closest("#peek")) return;
  if (turn) waiting = setTimeout(show, WAIT_MS, turn);
  else if (opened) waiting = setTimeout(close, WAIT_MS);
}

if (peek && window.matchMedia("(min-width: 48.01rem)").matches) {
  document.addEventListener("mouseover", look);
  document.addEventListener("focusin", look);
  document.addEventListener("keydown", (event) => event.key === "Escape" && close());
}
