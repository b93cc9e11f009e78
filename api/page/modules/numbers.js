// The one place where what a maker types becomes a number, and a number becomes what a maker reads.

const GRAMS_PER_OUNCE = 28.349523125;

/** Read a number typed with a point or a comma; null for an empty field, NaN for what is none, or could be two. */
export function readNumber(text) {
  const bare = String(text ?? "")
    .replace(/[\s'’%]/g, "")
    .replace(/g$/i, "");
  if (bare === "") return null;
  if (isDoubtful(bare)) return Number.NaN;
  const commas = bare.split(",").length - 1;
  const points = bare.split(".").length - 1;
  const plain =
    commas === 1 && points === 0
      ? bare.replace(",", ".")
      : bare.lastIndexOf(",") > bare.lastIndexOf(".")
        ? bare.replaceAll(".", "").replace(",", ".")
        : bare.replaceAll(",", "");
  return /^[+]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : Number.NaN;
}

/** Whether a comma may stand for thousands or for decimals: "1,250" is one and a quarter, or 1250. */
export const isDoubtful = (text) => /^[1-9]\d{0,2},\d{3}$/.test(String(text ?? "").trim());

/** Write a number with at most so many decimals and none that say nothing. */
export const show = (number, decimals = 2) =>
  number === null || number === undefined ? "–" : String(Number(number.toFixed(decimals)));

/** Write a change with its sign. */
export const showChange = (number) => (number > 0 ? `+${show(number)}` : `−${show(Math.abs(number))}`);

/** Write a mass held in grams in the unit the maker reads. */
export function showMass(grams, unit) {
  if (unit === "oz") return `${show(grams / GRAMS_PER_OUNCE, 3)} oz`;
  return `${show(grams, 2)} g`;
}

/** Turn what was typed in the maker's unit into grams. */
export const toGrams = (number, unit) => (unit === "oz" ? Number((number * GRAMS_PER_OUNCE).toFixed(4)) : number);

/** Turn grams into the number a field of the maker's unit shows. */
export const fromGrams = (grams, unit) => (unit === "oz" ? Number((grams / GRAMS_PER_OUNCE).toFixed(3)) : grams);
