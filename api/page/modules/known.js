// What the server said once, before anything was drawn: words of the page, words for doughs, what it offers.

let texts = {};
let words = { items: [], degrees: [], signs: [], tests: [] };
let offered = { notebook: false, currency: null };

/** Take what is known at the start. */
export function know(known) {
  ({ texts, words, offers: offered } = known);
}

export const offers = () => offered;
export const feels = () => words.items;
export const degrees = () => words.degrees;
export const signs = () => words.signs;
export const benchTests = () => words.tests;
export const feelNamed = (feel) => words.items.find((item) => item.feel === feel);
export const degreeNamed = (degree) => words.degrees.find((item) => item.degree === degree);

/** Return the text under "part.name", its {places} filled. */
export function t(key, values = {}) {
  const text = key.split(".").reduce((found, step) => found?.[step], texts);
  if (typeof text !== "string") return key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}

/** Whether there is a text under this key. */
export const has = (key) => t(key) !== key;

/** Return "one" or "many" text of a key for a count. */
export const count = (key, number, values = {}) =>
  t(`${key}.${number === 1 ? "one" : "many"}`, { count: number, ...values });
