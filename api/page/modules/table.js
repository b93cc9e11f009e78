// The one place where a pasted table or an opened file becomes lines of a recipe.

import { find } from "./names.js";
import { readNumber } from "./numbers.js";

const AMOUNT = /^(percent|%|amount|grams?|g|share|weight|anteil|prozent|gramm)\b/i;
const GRAMS = /^(grams?|g|gramm|weight)\b/i;

/** Read rows of name and amount, with or without a header, from tabs, semicolons, commas or runs of spaces. */
export function readTable(text) {
  const rows = text
    .split(/\r?\n/)
    .map(cells)
    .filter((row) => row.length > 1);
  let unit = "percent";
  const lines = [];
  for (const row of rows) {
    const headed = row.findIndex((cell) => AMOUNT.test(cell));
    if (headed > 0 && row.every((cell) => !isAmount(cell))) {
      if (GRAMS.test(row[headed])) unit = "grams";
      continue;
    }
    const place = row.findIndex((cell, index) => index > 0 && isAmount(cell));
    if (place < 1) continue;
    if (/\dg$/i.test(row[place].replace(/\s/g, ""))) unit = "grams";
    lines.push({ typed: row.slice(0, place).join(" ").trim(), amount: row[place].replace(/[%g\s]/gi, "") });
  }
  return { unit, lines: lines.filter((line) => !/^(total|sum|summe)\b/i.test(line.typed)) };
}

const isAmount = (cell) => {
  const number = readNumber(cell);
  return number !== null && !Number.isNaN(number);
};

function cells(row) {
  const separator = row.includes("\t")
    ? /\t/
    : row.includes(";")
      ? /;/
      : /,(?=\s*[\d"]|[^\d]*,)/.test(row)
        ? /,(?!\d+\s*%?\s*$)|,(?=[^,]*$)/
        : /\s{2,}|\s+(?=[\d.,]+\s*(?:%|g)?\s*$)/i;
  return row
    .split(separator)
    .map((cell) => cell.trim().replace(/^"(.*)"$/, "$1"))
    .filter((cell) => cell !== "");
}

/** Find the material each line means; a line that means none, or more than one, keeps what was typed. */
export const resolve = (lines) =>
  Promise.all(
    lines.map(async (line) => {
      const wanted = line.typed.toLowerCase();
      const found = await find(line.typed);
      const exact = found.find((one) =>
        [one.key, one.name, ...(one.also ?? [])].some((name) => name.toLowerCase() === wanted),
      );
      const one = exact ?? (found.length === 1 ? found[0] : undefined);
      return one ? { key: one.key, amount: line.amount, keep: false } : { key: null, ...line, keep: false };
    }),
  );
