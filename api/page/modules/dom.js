// The one place that makes elements; what they say is written as it is here, unless an element is not to be translated.

import { asTyped, written } from "./writing.js";

const SVG = "http://www.w3.org/2000/svg";

const given = (children) =>
  children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false);

const SAID = new Set(["aria-label", "title", "placeholder", "data-label"]);

function fill(element, properties, children) {
  const verbatim = properties.translate === "no";
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") element.value = typeof value === "number" ? asTyped(value) : value;
    else element.setAttribute(name, value === true ? "" : SAID.has(name) ? written(value) : value);
  }
  element.append(...(verbatim ? given(children) : given(children).map(said)));
  return element;
}

/** What an element says, as it is written here; other elements stay as they are. */
const said = (child) =>
  typeof child === "string" ? written(child) : typeof child === "number" ? asTyped(child) : child;

/** Make an HTML element: h("p", { class: "hint" }, "text", child, ...). */
export const h = (tag, properties = {}, ...children) => fill(document.createElement(tag), properties, children);

/** Make an SVG element. */
export const s = (tag, properties = {}, ...children) => fill(document.createElementNS(SVG, tag), properties, children);

/** A button; `more` holds its class and other properties. */
export const button = (text, onclick, more = {}) => h("button", { type: "button", onclick, ...more }, text);

/** What stands as one line until it is asked for. */
export const folded = (summary, children, more = {}) =>
  h("details", { class: "more", ...more }, h("summary", {}, summary), children);

/** A part of an answer under its heading; null where it holds nothing. */
export const part = (id, title, ...children) =>
  given(children).length
    ? h("section", { class: "part", "aria-labelledby": id }, h("h3", { id }, title), ...children)
    : null;

/** A list of one class. */
export const list = (name, items) =>
  h(
    "ul",
    { class: name },
    items.map((item) => h("li", {}, item)),
  );

/** Whether there is room for recipe and answer side by side. */
export const isDesk = () => matchMedia("(min-width: 64rem)").matches;

let last = 0;

/** Return an id no other element has. */
export const uniqueId = (stem) => `${stem}-${(last += 1)}`;

/** A picture from the page's own folder that says nothing the text beside it does not say. */
export const icon = (name) =>
  s("svg", { class: "icon", "aria-hidden": "true", viewBox: "0 0 24 24" }, s("use", { href: `#icon-${name}` }));

/**
 * Move the focus to the first element of a selector.
 * @param {string} selector
 * @param {FocusOptions} [how]
 */
export const focusOn = (selector, how) =>
  /** @type {HTMLElement | null} */ (document.querySelector(selector))?.focus(how);

/** Say something to screen readers without moving the focus. */
export function announce(text) {
  const place = document.getElementById("announcer");
  if (place) place.textContent = written(text);
}

/** Replace what is in an element; what is null or false is left out, and who was in it with the keyboard stays there. */
export function refill(place, ...children) {
  const giveBack = keepFocus(place);
  place.replaceChildren(...given(children).map(said));
  giveBack();
}

const CONTROLS = "a[href], button, input, select, textarea, summary, [tabindex='0']";
const controls = (place) =>
  [...place.querySelectorAll(CONTROLS)].filter((one) => !one.disabled && one.checkVisibility());

/** What a control is called, by which it is known again when it was drawn anew. */
const signOf = (one) =>
  [
    one.tagName,
    one.getAttribute("aria-label") ?? (one.labels?.[0] ?? one).textContent,
    JSON.stringify(one.dataset ?? {}),
  ].join("|");

/**
 * Remember which control of an element has the focus, and which folds are open. The function that is returned gives the
 * focus back after all was drawn anew: to the same control or, where it is gone and `near` holds, to the one in its
 * place; it does nothing where the focus went elsewhere, and tells whether anything has it.
 * @type {(place: Element) => (near?: boolean) => boolean}
 */
export function keepFocus(place) {
  const held = /** @type {any} */ (document.activeElement);
  if (!held || held === place || !place.contains(held)) return () => false;
  const before = controls(place);
  const sign = signOf(held);
  const alike = before.filter((one) => signOf(one) === sign).indexOf(held);
  const caret = held.type === "text" ? [held.selectionStart, held.selectionEnd] : null;
  const folds = [...place.querySelectorAll("details[open] > summary")].map(({ textContent }) => textContent);
  return (near = true) => {
    const active = document.activeElement;
    if (active && active !== document.body && !active.contains(place)) return true;
    for (const summary of place.querySelectorAll("details > summary"))
      if (folds.includes(summary.textContent)) summary.parentElement?.setAttribute("open", "");
    const after = controls(place);
    const same = after.filter((one) => signOf(one) === sign);
    const instead = near ? (after[Math.min(before.indexOf(held), after.length - 1)] ?? place.closest("[tabindex]")) : null;
    const found = same[alike] ?? same.at(-1) ?? instead;
    found?.focus({ preventScroll: true });
    if (caret && found?.type === "text") found.setSelectionRange(...caret);
    return Boolean(found);
  };
}
