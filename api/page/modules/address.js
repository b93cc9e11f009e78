// What the address names: a view, what of it, and the sheets that lie over it, each by its name and what it is about.

const SHEETS = new Set([
  "samples",
  "paste",
  "recipes",
  "versions",
  "tests",
  "line",
  "missing",
  "own",
  "keep",
  "gloves",
  "slip",
  "outcome",
  "bar",
  "lot",
  "weighed",
  "packed",
]);

/**
 * @typedef {{ own: string, view: string, of: string[], sheets: { name: string, about: string[] }[] }} Address
 *   `own` is the address without its sheets, `of` what the view shows: a recipe and its step, a task, a part
 */

/**
 * Read an address: "#weigh/gloves/slip/kaolin" is the view weigh under the sheets gloves and slip.
 * @type {(hash: string) => Address}
 */
export function read(hash) {
  const steps = hash.replace(/^#/, "").split("/").map(decoded);
  const first = steps.findIndex((step, place) => place > 0 && SHEETS.has(step));
  const own = first < 0 ? steps : steps.slice(0, first);
  /** @type {Address["sheets"]} */
  const sheets = [];
  for (const step of steps.slice(own.length))
    if (SHEETS.has(step)) sheets.push({ name: step, about: [] });
    else sheets.at(-1)?.about.push(step);
  const [view, ...of] = own;
  return { own: write(...own), view, of, sheets };
}

/** The view an address is of; a recipe and an empty address are the bench. */
export const viewOf = (hash) => read(hash).view.replace(/^(recipe)?$/, "bench");

/** Write an address from its steps. */
export const write = (...steps) => `#${steps.map(encodeURIComponent).join("/")}`;

function decoded(step) {
  try {
    return decodeURIComponent(step);
  } catch {
    return step;
  }
}

/** The address of a sheet over what the address names now; the bench is named where nothing is. */
export const over = (hash, steps) => [hash.length > 1 ? hash : "#bench", ...steps.map(encodeURIComponent)].join("/");

let shown = "";

/** What is drawn now, as the address without its sheets; a new one is taken over. */
export function drawn(own = shown) {
  shown = own;
  return shown;
}

/** Name what is drawn already by another address: as a step that back returns from, or in its place. */
export function rename(own, step = false) {
  if (own === shown || read(location.hash).sheets.length) return;
  shown = own;
  if (step) history.pushState(null, "", own);
  else history.replaceState(history.state, "", own);
}
