// The one place where what a maker types becomes a number, and a number becomes what a maker reads.

import { asTyped, decimals } from "./writing.js";

const GRAMS_PER_OUNCE = 28.349523125;
const EITHER = /^\+?[1-9]\d{0,2}[.,]\d{3}$/;
const WHOLE = /^\+?(\d*|\d{1,3}([.,]\d{3})+)$/;
const PLAIN = /^\+?(\d+\.?\d*|\.\d+)$/;

const bareOf = (text) =>
  String(text ?? "")
    .replace(/[\s'’%]/g, "")
    .replace(/g$/i, "");

/** Read a number typed with a point or a comma; null for an empty field, NaN for what is none, or could be two. */
export function readNumber(text) {
  if (typeof text === "number") return text;
  const bare = bareOf(text);
  if (bare === "") return null;
  if (isDoubtful(bare)) return Number.NaN;
  const sign = decimalOf(bare);
  const plain = bare.replaceAll(sign === "," ? "." : ",", "").replace(sign, ".");
  return PLAIN.test(plain) && WHOLE.test(bare.split(sign)[0]) ? Number(plain) : Number.NaN;
}

/** What parts the decimals of a figure: the last sign, unless it stands again and again or stands for either. */
function decimalOf(bare) {
  const signs = bare.match(/[.,]/g) ?? [];
  if (EITHER.test(bare)) return decimals().decimal;
  if (signs.length > 1 && new Set(signs).size === 1) return signs[0] === "," ? "." : ",";
  return signs.at(-1) ?? ".";
}

/** The sign that can only part decimals in a figure; undefined where it has none, or could have thousands. */
export function clearSign(text) {
  const bare = bareOf(text);
  const signs = bare.match(/[.,]/g) ?? [];
  const two = new Set(signs).size === 2;
  return two || !/[.,]\d{3}$/.test(bare) || bare.startsWith("0") ? signs.at(-1) : undefined;
}

/** Whether a sign may stand for thousands or for decimals: "1,250" is 1250 where a point parts decimals, or not. */
export function isDoubtful(text) {
  const bare = bareOf(text);
  return EITHER.test(bare) && !decimals().told && !bare.includes(decimals().decimal);
}

/** What a figure that may stand for either would be with decimals, and without. */
export const bothOf = (text) => {
  const [whole, parts] = bareOf(text).split(/[.,]/);
  return { parted: asTyped(Number(`${whole}.${parts}`)), whole: `${whole}${parts}` };
};

/** Write a number with at most so many decimals and none that say nothing. */
export const show = (number, most = 2) =>
  number === null || number === undefined ? "–" : asTyped(Number(number.toFixed(most)));

/** Write a change with its sign. */
export const showChange = (number) => (number > 0 ? `+${show(number)}` : `−${show(Math.abs(number))}`);

/** Write a mass held in grams in the unit the maker reads. */
export function showMass(grams, unit) {
  if (unit === "oz") return `${show(grams / GRAMS_PER_OUNCE, 3)} oz`;
  return `${show(grams, 2)} g`;
}

/** Turn what was typed in the maker's unit into grams. */
export const toGrams = (number, unit) => (unit === "oz" ? Number((number * GRAMS_PER_OUNCE).toFixed(4)) : number);

/** Read a mass typed in the maker's unit, or with a g behind it, in grams; null and NaN as readNumber has them. */
export function readMass(text, unit) {
  const number = readNumber(text);
  return number && toGrams(number, /g\s*$/i.test(String(text)) ? "g" : unit);
}

/** Turn grams into the number a field of the maker's unit shows. */
export const fromGrams = (grams, unit) => (unit === "oz" ? Number((grams / GRAMS_PER_OUNCE).toFixed(3)) : grams);
