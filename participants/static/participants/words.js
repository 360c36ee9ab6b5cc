// Sentences of the scripts in the reader's language: the page brings their translations; without them they are English.
const brought = globalThis.document?.getElementById("words")?.textContent;
const words = brought ? JSON.parse(brought) : {};
const filled = (sentence, values) => sentence.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);

/** A sentence with its values by name: `gettext("Sent: {names}.", { names })`. */
export const gettext = (message, values = {}) => filled(words[message] ?? message, values);

/** The sentence in the form that `number` asks for, which is a value of it; alike in all languages of the house. */
export function ngettext(one, many, number, values = {}) {
  const form = number === 1 ? 0 : 1;
  return filled(words[one]?.[form] ?? [one, many][form], { number, ...values });
}
