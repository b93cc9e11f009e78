// The one place of a field with its label and of the words that stand beside it when it is wrong.

import { button, h, uniqueId } from "./dom.js";
import { t } from "./known.js";
import { bothOf, isDoubtful, readNumber } from "./numbers.js";
import { written } from "./writing.js";

const places = new Map();

/** Remember which element of the page a place of the request was typed into. */
export function claim(pointer, element, slot) {
  places.set(pointer, { element, slot });
}

/** Take back every complaint. */
export function clearComplaints() {
  for (const { element, slot } of places.values()) complain(element, slot, "");
}

/** Write a complaint beside an element. */
export function complain(element, slot, text) {
  slot.textContent = written(text);
  slot.hidden = text === "";
  if (text) {
    element.setAttribute("aria-invalid", "true");
    element.setAttribute("aria-describedby", slot.id);
  } else {
    element.removeAttribute("aria-invalid");
    element.removeAttribute("aria-describedby");
  }
}

/** What is wrong with a number as it was typed; nothing where it is one, or empty. */
export function faultOf(text) {
  if (!Number.isNaN(readNumber(text))) return "";
  return isDoubtful(text) ? t("dough.doubtful", { text, ...bothOf(text) }) : t("dough.no_number");
}

/** Write each error of a problem beside its field; return those that belong to none. */
export function complainAll(errors) {
  const homeless = [];
  for (const error of errors) {
    const found = nearest(error.where ?? "");
    const text = [error.problem, error.hint].filter(Boolean).join("; ");
    if (found) complain(found.element, found.slot, capital(text));
    else homeless.push({ where: error.where, text: capital(text) });
  }
  return homeless;
}

function nearest(pointer) {
  for (let place = pointer; place !== ""; place = place.slice(0, place.lastIndexOf("/"))) {
    const found = places.get(place);
    if (found?.element.isConnected) return found;
  }
  return undefined;
}

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/** A place for a complaint, empty until there is one. */
export const slot = () => h("p", { class: "complaint", id: uniqueId("complaint"), hidden: true, role: "alert" });

/**
 * @typedef {object} Field what a field is made of
 * @property {string} label
 * @property {string | number} [value]
 * @property {string} [unit]
 * @property {string} [hint]
 * @property {string} [pointer] the place of the request it fills, as a JSON pointer
 * @property {(event: any) => void} [oninput]
 * @property {(event: any) => void} [onchange]
 * @property {string} [inputmode]
 * @property {string} [type]
 * @property {boolean} [small]
 * @property {boolean} [hiddenLabel]
 * @property {string} [autocomplete]
 *
 * @typedef {object} Choice what a choice is made of
 * @property {string} label
 * @property {any[][]} options value and text of each
 * @property {any} chosen
 * @property {(value: any) => void} onchoose
 * @property {string} [hint]
 * @property {boolean} [hiddenLabel]
 * @property {string} [kind]
 */

/**
 * A labelled field for a number or a text, with its complaint under it.
 * @param {Field} made
 */
export function field({
  label,
  value = "",
  unit,
  hint,
  pointer,
  oninput,
  onchange,
  inputmode = "decimal",
  type = "text",
  small = false,
  hiddenLabel = false,
  autocomplete = "off",
}) {
  const id = uniqueId("field");
  const hintId = hint ? uniqueId("hint") : undefined;
  const input = h("input", {
    id,
    type,
    inputmode: type === "text" ? inputmode : undefined,
    value,
    autocomplete,
    oninput,
    onchange,
    "aria-describedby": hintId,
  });
  const below = slot();
  if (pointer) claim(pointer, input, below);
  const box = h(
    "div",
    { class: small ? "field field-small" : "field" },
    h("label", { for: id, class: hiddenLabel ? "unseen" : undefined }, label),
    h("div", { class: "input" }, input, unit ? h("span", { class: "unit", "aria-hidden": "true" }, unit) : null),
    hint ? h("p", { class: "hint", id: hintId }, hint) : null,
    below,
  );
  return { box, input, complain: (text) => complain(input, below, text) };
}

/**
 * A field whose text an object holds by a name, as it is typed; changed is told after each letter.
 * @type {(holder: object, name: string, changed: () => void, made: Field) => HTMLElement}
 */
export const held = (holder, name, changed, made) =>
  field({
    value: holder[name] ?? "",
    oninput: (event) => {
      holder[name] = event.target.value;
      changed();
    },
    ...made,
  }).box;

/**
 * A row of large buttons of which one is chosen.
 * @param {Choice} made
 */
export function choice({ label, options, chosen, onchoose, hiddenLabel = false, kind = "segments" }) {
  const id = uniqueId("choice");
  return h(
    "div",
    { class: kind, role: "group", "aria-labelledby": id },
    h("p", { id, class: hiddenLabel ? "unseen" : "choice-label" }, label),
    h(
      "div",
      { class: `${kind}-row` },
      options.map(([value, text]) =>
        button(text, () => onchoose(value), { class: "segment", "aria-pressed": String(value === chosen) }),
      ),
    ),
  );
}

/**
 * A labelled drop-down list.
 * @param {Choice} made
 */
export function select({ label, options, chosen, onchoose, hint }) {
  const id = uniqueId("select");
  return h(
    "div",
    { class: "field" },
    h("label", { for: id }, label),
    h(
      "select",
      { id, onchange: (event) => onchoose(event.target.value) },
      options.map(([value, text]) => h("option", { value, selected: value === chosen }, text)),
    ),
    hint ? h("p", { class: "hint" }, hint) : null,
  );
}

/** The switch between grams and ounces. */
export const massChoice = (chosen, onchoose, label) =>
  choice({
    label,
    hiddenLabel: true,
    chosen,
    onchoose,
    options: [
      ["g", "g"],
      ["oz", "oz"],
    ],
  });
