// A form of the page as the queue keeps it, and what is kept put back into its form.

/** The uuid in the address when a form was opened from what waits: sending it takes the place of that one. */
export const openedFrom = () => location.hash.slice(1);

/** The same address about the trip that this page is about: pages kept on a phone name none in their links. */
export function sameTrip(address) {
  if (!address) return address;
  const found = new URL(address, location.href);
  const trip = new URL(location.href).searchParams.get("trip");
  if (trip && !found.searchParams.has("trip")) found.searchParams.set("trip", trip);
  return found.pathname + found.search;
}

/** The trip that a form is about, in its hidden field: the same page is about another trip when one is over. */
export const tripOf = (form) => form.elements.trip?.value ?? "";

const shown = (field) => (field?.selectedOptions ? field.selectedOptions[0]?.textContent : field?.value)?.trim() ?? "";

/** What people call a form: the name typed in it, else its pattern with what was typed ("Lens, {focal_min_mm} mm"). */
export function nameOf(form) {
  const pattern = form.dataset.queueName;
  if (!pattern.includes("{")) return pattern;
  const typed = (name) => shown(form.elements[name.slice(1, -1)]) || "…";
  return shown(form.elements.name) || pattern.replace(/\{\w+\}/g, typed);
}

const isText = ([name, value]) => name !== "csrfmiddlewaretoken" && typeof value === "string";

/** Everything of a form that is kept and decides what it replaces. */
export function filledForm(form, button) {
  const fields = [...new FormData(form)].filter(isText);
  if (button?.name) fields.push([button.name, button.value]);
  const { queue: kind, queuePage, queueElsewhere } = form.dataset;
  return {
    kind, elsewhere: sameTrip(queueElsewhere), fields, name: nameOf(form), trip: tripOf(form),
    path: sameTrip(form.getAttribute("action") || location.href), page: sameTrip(queuePage ?? location.href),
    each: "queueEach" in form.dataset, one: "queueOne" in form.dataset, replaced: openedFrom(),
  };
}

const isTyped = (field) => field.name && !["submit", "button", "file"].includes(field.type);

/** Shows a kept form as it was typed; its hidden fields only where they are a part of what was seen then. */
export function fillForm(form, entry, { hidden = false } = {}) {
  for (const field of form.elements) {
    if (!isTyped(field) || (field.type === "hidden" && !hidden)) continue;
    const values = entry.fields.filter(([name]) => name === field.name).map(([, value]) => value);
    if (["checkbox", "radio"].includes(field.type)) field.checked = values.includes(field.value);
    else if (values.length) [field.value] = values;
  }
  globalThis.document?.dispatchEvent?.(new Event("filled"));
}
