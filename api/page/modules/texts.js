// The one place that knows the page's words: api/page/texts/<language>.json.

let words = {};

/** Load the words of a language once, before anything is drawn. */
export async function loadTexts(language) {
  const answer = await fetch(`/static/texts/${language}.json`);
  words = await answer.json();
  document.documentElement.lang = language;
}

/** Return the text under "part.name", its {places} filled. */
export function t(key, values = {}) {
  const text = key.split(".").reduce((found, step) => found?.[step], words);
  if (typeof text !== "string") return key;
  return text.replace(/\{(\w+)\}/g, (whole, name) => values[name] ?? whole);
}

/** Whether there is a text under this key. */
export const has = (key) => t(key) !== key;

/** Return "one" or "many" text of a key for a count. */
export const count = (key, number, values = {}) =>
  t(`${key}.${number === 1 ? "one" : "many"}`, { count: number, ...values });
