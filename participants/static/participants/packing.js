// The packing list is ticked on the phone and stays there: no tick goes to the server, and signing out takes them.
import { meta } from "./parts.js";

const key = `packed ${meta("person")}`;
const boxes = [...document.querySelectorAll(".pack-list input")];
const kept = () => { try { return JSON.parse(localStorage.getItem(key) ?? "[]"); } catch { return []; } };

function keep() {
  const ticked = boxes.filter((box) => box.checked).map((box) => box.value);
  try { localStorage.setItem(key, JSON.stringify(ticked)); } catch { /* nothing is kept then */ }
}

for (const box of boxes) {
  box.checked = kept().includes(box.value);
  box.addEventListener("change", keep);
}
