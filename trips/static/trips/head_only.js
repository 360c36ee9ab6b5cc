// Of a chosen picture only the first 256 KiB are sent: they hold what the camera wrote about itself.
const HEAD_BYTES = 256 * 1024;

for (const field of document.querySelectorAll("input[type=file][data-head-only]")) {
  field.addEventListener("change", () => {
    const chosen = field.files[0];
    if (!chosen || chosen.size <= HEAD_BYTES) {
      return;
    }
    const short = new DataTransfer();
    short.items.add(new File([chosen.slice(0, HEAD_BYTES)], chosen.name, { type: chosen.type }));
    field.files = short.files;
  });
}
