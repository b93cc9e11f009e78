// A sheet of fields that is kept as a whole: each is read, what is wrong is said beside it, and nothing is kept twice.

import { button, h } from "../dom.js";
import { openSheet } from "../dialog.js";
import { faultOf, field } from "../fields.js";
import { readNumber } from "../numbers.js";
import { t } from "../known.js";
import { trouble } from "../trouble.js";

/**
 * @typedef {object} Told one field of the sheet
 * @property {string} name
 * @property {string} label
 * @property {"number"|"text"|"date"} [kind]
 * @property {string} [unit]
 * @property {string} [hint]
 * @property {string} [value]
 * @property {string} [pointer] where the request holds it, if not by its name
 * @property {boolean} [needed]
 */

/**
 * Ask for figures and words, and keep what was told by its names; what was left empty is null.
 * @param {string} title
 * @param {{ address: string[], above?: any[], fields: Told[], keepIt: (told: Record<string, any>) => Promise<any>, again: () => any }} form
 */
export function openForm(title, { address, above = [], fields, keepIt, again }) {
  const { body, close } = openSheet(title, { address });
  const drawn = fields.map((told) => ({ ...told, ...fieldOf(told) }));
  let keeping = false;
  const save = async () => {
    const told = drawn.map((one) => [one.name, read(one)]);
    if (keeping || told.some(([, value]) => value === undefined)) return;
    keeping = true;
    try {
      await keepIt(Object.fromEntries(told));
      await close();
      await again();
    } catch (error) {
      body.querySelector(":scope > .box-stop")?.remove();
      body.prepend(trouble(error));
    }
    keeping = false;
  };
  const boxes = h("div", { class: "pair" }, drawn.map(({ box }) => box));
  body.append(...above, boxes, button(t("save.keep"), save, { class: "primary" }));
}

/** @type {(told: Told) => ReturnType<typeof field>} */
const fieldOf = ({ name, label, kind = "number", unit, hint, value, pointer = `/${name}` }) =>
  field({
    label,
    unit,
    hint,
    value,
    pointer,
    type: kind === "date" ? "date" : "text",
    inputmode: kind === "text" ? "text" : "decimal",
  });

/**
 * What was told in a field: null where nothing was, undefined where it cannot be kept.
 * @type {(told: Told & ReturnType<typeof field>) => any}
 */
function read({ kind = "number", needed, input, complain }) {
  const value = kind === "number" ? readNumber(input.value) : input.value.trim() || null;
  const lacking = kind === "text" ? "own.no_name" : "dough.no_amount";
  const wrong = needed && value === null ? t(lacking) : kind === "number" ? faultOf(input.value) : "";
  complain(wrong);
  return wrong ? undefined : value;
}
