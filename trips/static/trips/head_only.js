// Of a chosen picture only the first 256 KiB are sent: they hold what the camera wrote about itself.
const HEAD_BYTES = 256 * 1024;

function cut(field) {
  const [chosen] = field.files;
  if (!chosen || chosen.size <= HEAD_BYTES) return;
  const short = new DataTransfer();
  short.items.add(new File([chosen.slice(0, HEAD_BYTES)], chosen.name, { type: chosen.type }));
  field.files = short.files;
}

for (const field of document.querySelectorAll("input[type=file][data-head-only]")) {
  field.addEventListener("change", () => cut(field));
}
