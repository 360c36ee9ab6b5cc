// A name chosen from the list fills the empty fields of a subject's form with what the list knows.
for (const name of document.querySelectorAll("input[data-species]")) {
  name.addEventListener("change", () => {
    const chosen = [...name.list.options].find((option) => option.value === name.value);
    if (!chosen) return;
    for (const [part, value] of Object.entries(JSON.parse(chosen.dataset.fills))) {
      const field = document.getElementById(`${name.id.slice(0, -"name".length)}${part}`);
      if (field && (!field.value || field.matches("select"))) field.value = value;
    }
  });
}
