// A form that a module keeps and sends must not leave before that module has run: without a network the browser would
// show a fault and drop what was typed. A press until then is made again once the modules have run. Classic, so that it
// runs before the form is there to be pressed.
(() => {
  let early = null;
  const hold = (event) => {
    if (!event.target.closest("form[data-queue], form[data-online]")) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    early = event;
  };
  document.addEventListener("submit", hold, true);
  document.addEventListener("DOMContentLoaded", () => { // modules run before this, also where one of them fails
    document.removeEventListener("submit", hold, true);
    early?.target.requestSubmit(early.submitter);
  });
})();
