// The one place where a pasted table or an opened file becomes lines of a recipe.

import { find } from "./names.js";
import { bothOf, clearSign, isDoubtful, readNumber } from "./numbers.js";

const AMOUNT = /^(percent|%|amount|grams?|g|oz|ounces?|share|weight|anteil|prozent|gramm|unzen)\b|^%$/i;
const UNITS = Object.entries({ grams: /^(grams?|g|gramm|weight)\b|\dg$/i, ounces: /^(oz|ounces?|unzen)\b|\doz$/i });
const NAME = /^(material|name|ingredient|inci|rohstoff|zutat)/i;
const TOTAL = /^(total|sum|summe)\b/i;

/**
 * Read rows of name and amount, with or without a header, from tabs, semicolons, commas or spaces.
 * @returns {{ unit: string, lines: { typed: string, amount: string }[], totals: number }} with how many totals were left out
 */
export function readTable(text) {
  let unit = "percent";
  let header = null;
  const lines = [];
  for (const written of text.split(/\r?\n/)) {
    const row = cells(written, header?.separator);
    if (row.length < 2) continue;
    const headed = row.findIndex((cell) => AMOUNT.test(cell));
    if (headed > 0 && !row.some(isAmount)) {
      header = {
        place: headed,
        length: row.length,
        separator: row.separator,
        name: Math.max(
          row.findIndex((cell) => NAME.test(cell)),
          0,
        ),
      };
      unit = unitOf(row[headed]) ?? unit;
      continue;
    }
    const line = lineOf(row, header);
    if (!line) continue;
    unit = unitOf(line.amount.replace(/\s/g, "")) ?? unit;
    lines.push({ ...line, amount: line.amount.replace(/[%goz\s]/gi, "") });
  }
  const kept = told(lines).filter((line) => !TOTAL.test(line.typed));
  return { unit, lines: kept, totals: lines.length - kept.length };
}

const unitOf = (cell) => UNITS.find(([, sign]) => sign.test(cell))?.[0];

const isAmount = (cell) => {
  const bare = cell.replace(/oz$/i, "");
  const number = readNumber(bare);
  return number !== null && (!Number.isNaN(number) || isDoubtful(bare));
};

/** The lines, where an amount that may have thousands or decimals is what all the clear ones of its column make of it. */
function told(lines) {
  const signs = new Set(lines.map((line) => clearSign(line.amount)).filter(Boolean));
  const clear = ({ amount }) => (amount.includes([...signs][0]) ? bothOf(amount).parted : bothOf(amount).whole);
  return signs.size === 1 ? lines.map((line) => (isDoubtful(line.amount) ? { ...line, amount: clear(line) } : line)) : lines;
}

/** The name and the amount of a row; commas inside a name or a number are put together again. */
function lineOf(row, header) {
  let more = header ? Math.max(row.length - header.length, 0) : 0;
  let place = header ? header.place + more : row.findLastIndex((cell, index) => index > 0 && isAmount(cell));
  if (place < 1 || place >= row.length || !isAmount(row[place])) return null;
  let amount = row[place];
  const broken = row.separator === "," && place > 1 && (!header || more > 0);
  if (broken && /^\d+$/.test(row[place - 1]) && /^\d+\s*(?:%|g|oz)?$/i.test(amount)) {
    place -= 1;
    more -= 1;
    amount = `${row[place]},${amount}`;
  }
  const name = header ? row.slice(header.name, header.name + Math.max(more, 0) + 1) : row.slice(0, place);
  return { typed: name.join(", "), amount };
}

/** Split a row where its table does; what has no heading is split by what stands in the row. */
function cells(row, headed) {
  const spaced = /^(.*?\S)\s+([\d.,]+\s*(?:%|g|oz)?)\s*$/i.exec(row);
  const guessed = row.includes("\t") ? "\t" : row.includes(";") ? ";" : spaced ? " " : ",";
  const separator = headed && row.includes(headed) ? headed : guessed;
  const found = separator === " " ? [spaced[1], spaced[2]] : quoted(row, separator);
  return Object.assign(
    found.map((cell) => cell.trim()),
    { separator },
  );
}

/** Split a row at its separator, but not inside quotation marks. */
const quoted = (row, separator) =>
  [...row.matchAll(new RegExp(`(?:^|${separator})\\s*(?:"((?:[^"]|"")*)"|([^${separator}]*))`, "g"))].map(
    ([, marked, bare]) => (marked === undefined ? bare : marked.replaceAll('""', '"')),
  );

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
