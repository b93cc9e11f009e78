// The one place where what the maker entered becomes the body of a call.

import { readMass, readNumber } from "./numbers.js";
import { asTyped } from "./writing.js";

/** A field that cannot be sent as it is typed; where is a JSON pointer as the server would name it. */
export class Unreadable extends Error {
  constructor(errors) {
    super("unreadable");
    this.errors = errors;
  }
}

/** The amount of a line in percent or grams; null where none is typed, NaN for what is no number. */
export function amountOf({ amount }, unit) {
  return unit === "ounces" ? readMass(amount, "oz") : readNumber(amount);
}

/** The recipe as the calls take it. */
export function recipeOf({ recipe }, words) {
  const errors = [];
  const unit = recipe.unit === "percent" ? "percent" : "grams";
  const lines = recipe.lines.map((line, place) => {
    const amount = amountOf(line, recipe.unit);
    const where = `/recipe/lines/${place}/${unit}`;
    if (!line.key) errors.push({ where: `/recipe/lines/${place}/material`, problem: words.unknown });
    if (amount === null) errors.push({ where, problem: words.empty });
    else if (Number.isNaN(amount)) errors.push({ where, problem: words.number?.(line.amount) });
    return { material: line.key, [unit]: amount, ...(line.lot ? { lot: line.lot } : {}) };
  });
  if (errors.length) throw new Unreadable(errors);
  return { name: recipe.name, lines };
}

/** The wishes with the lines the maker keeps as they are. */
export function wishesOf({ wishes, recipe }) {
  const fixed = recipe.lines.filter((line) => line.keep).map((line) => line.key);
  const whole = { ...wishes, ...(fixed.length ? { fixed } : {}) };
  return Object.keys(whole).length ? whole : undefined;
}

/** Give up the wish a refusal names by its JSON pointer; false where it names none. */
export function giveUp(state, pointer) {
  const [, part, name, ...rest] = pointer.split("/").map((step) => step.replaceAll("~1", "/").replaceAll("~0", "~"));
  if (part !== "wishes" || name === undefined) return false;
  if (name === "fixed") {
    const kept = state.recipe.lines.filter((line) => line.keep)[Number(rest[0])];
    if (kept) kept.keep = false;
    return Boolean(kept);
  }
  state.wishes = without(state.wishes, [name, ...rest]);
  return true;
}

/**
 * A copy of an object without what lies at the end of a path; what is left empty goes too.
 * @type {(object: any, path: string[]) => any}
 */
function without(object, [step, ...path]) {
  const { [step]: found, ...others } = object;
  if (!path.length || found === undefined) return others;
  const less = without(found, path);
  return Object.values(less).some((value) => value !== null) ? { ...others, [step]: less } : others;
}

/** What every calculation on this recipe carries besides the recipe. */
export const surroundings = (state) => ({
  wishes: wishesOf(state),
  ...(state.shelf.length ? { shelf: state.shelf } : {}),
  ...(state.materials.length ? { materials: state.materials } : {}),
  ...(state.history.length ? { history: state.history } : {}),
  ...phOf(state),
});

/** The pH that was read, and in how much dough of the water it was read in; what is no number is not sent. */
function phOf({ ph }) {
  const [value, at] = [readNumber(ph?.value), readNumber(ph?.at)];
  if (value === null || Number.isNaN(value)) return {};
  return { ph: value, ...(at ? { ph_at_percent: at } : {}) };
}

export const correctionOf = (state, words) => ({
  recipe: recipeOf(state, words),
  report: state.report,
  ...surroundings(state),
  batch_grams: batchGrams(state),
  balance_step: Number(state.weigh.step),
});

const USUAL_BATCH = 500;

/** What the next batch weighs [g]: as it was told, else as the recipe in grams is, else a usual one. */
export function batchGrams({ recipe, weigh, mass }) {
  const told = readMass(weigh.batch, mass);
  if (told > 0) return told;
  return writtenGrams({ recipe }) || USUAL_BATCH;
}

/** What a recipe that was written by weight weighs [g]; nothing of one in percent. */
export function writtenGrams({ recipe }) {
  const written = recipe.lines.reduce((sum, line) => sum + (amountOf(line, recipe.unit) || 0), 0);
  return recipe.unit === "percent" ? 0 : Number(written.toFixed(4));
}

/** Grams as a balance reads them. */
export const inSteps = (grams, step) => Number((Math.round(grams / step) * step).toFixed(4));

/** The recipe in grams, scaled to what lies in the bowl where it was written in percent. */
export function bowlOf(state, words, grams) {
  const recipe = recipeOf(state, words);
  if (state.recipe.unit !== "percent") return recipe;
  const total = recipe.lines.reduce((sum, line) => sum + line.percent, 0);
  return {
    ...recipe,
    lines: recipe.lines.map(({ percent, ...line }) => ({
      ...line,
      grams: Number(((grams * percent) / total).toFixed(4)),
    })),
  };
}

/** A version of a kept recipe, with the lines it was kept with. */
export const keptAs = (state, key, version) => ({ key, version, lines: JSON.stringify(state.recipe.lines) });

/** Which version of a kept recipe this is; nothing where none was opened, or it was changed since. */
export const versionOf = ({ kept, recipe }) =>
  kept && kept.lines === JSON.stringify(recipe.lines) ? { recipe_key: kept.key, version: kept.version } : {};

/** Turn a request into what the page holds. */
export function openRequest(state, request) {
  const { recipe, report, wishes, shelf, materials, history, ph, ph_at_percent: at } = request;
  const unit = recipe.lines.some((line) => line.grams != null) ? "grams" : "percent";
  const { fixed, ...rest } = wishes ?? {};
  Object.assign(state, {
    id: undefined,
    answered: null,
    kept: null,
    recipe: {
      name: recipe.name ?? "",
      unit,
      lines: recipe.lines.map((line) => ({
        key: line.material,
        amount: asTyped(line[unit]),
        keep: (fixed ?? []).includes(line.material),
        ...(line.lot ? { lot: line.lot } : {}),
      })),
    },
    report: report ? { degree: "clear", signs: [], ...report } : null,
    wishes: rest,
    ph: { value: ph ?? "", at: at ?? "" },
    shelf: shelf ?? [],
    materials: materials ?? [],
    history: history ?? [],
    bowl: {
      ...state.bowl,
      grams: "",
      step: request.balance_step ?? state.bowl.step,
      lost: request.lost_grams ?? "",
    },
    weigh: { ...state.weigh, which: "next", asked: "", sheet: null, ticks: {} },
    next: null,
  });
}
