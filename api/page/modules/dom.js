// The one place that makes elements.

const SVG = "http://www.w3.org/2000/svg";

const given = (children) =>
  children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false);

function fill(element, properties, children) {
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else if (name === "value") element.value = value;
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...given(children));
  return element;
}

/** Make an HTML element: h("p", { class: "hint" }, "text", child, ...). */
export const h = (tag, properties = {}, ...children) => fill(document.createElement(tag), properties, children);

/** Make an SVG element. */
export const s = (tag, properties = {}, ...children) => fill(document.createElementNS(SVG, tag), properties, children);

let last = 0;

/** Return an id no other element has. */
export const uniqueId = (stem) => `${stem}-${(last += 1)}`;

/** A picture from the page's own folder that says nothing the text beside it does not say. */
export const icon = (name) =>
  s(
    "svg",
    { class: "icon", "aria-hidden": "true", viewBox: "0 0 24 24" },
    s("use", { href: `/static/pictures/icons.svg#${name}` }),
  );

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
  if (place) place.textContent = text;
}

/** Replace what is in an element; what is null or false is left out. */
export const refill = (place, ...children) => place.replaceChildren(...given(children));
