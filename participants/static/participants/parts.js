// Small parts of a page that scripts make or read.

export const made = (tag, facts) => Object.assign(document.createElement(tag), facts);
export const link = (address, text) => made("a", { href: address, textContent: text });

export function button(label, work) {
  const pressed = made("button", { type: "button", className: "btn btn-secondary btn-sm", textContent: label });
  pressed.addEventListener("click", work);
  return pressed;
}

/** One line of words, with buttons and links behind them. */
export function line(text, controls = []) {
  const drawn = made("p", {});
  drawn.append(made("span", { textContent: text }), " ", ...controls.flatMap((one) => [one, " "]));
  return drawn;
}

/** What the server says in the head of a page. */
export const meta = (name, page = document) => page.querySelector(`meta[name="${name}"]`)?.content ?? "";
