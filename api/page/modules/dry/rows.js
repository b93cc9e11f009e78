// The weighings of a bar: written by date or by hours, read as hours since the first.

import { readMass, readNumber } from "../numbers.js";

const HOUR_MS = 3_600_000;
const LEAST_ROWS = 4;

export const emptyBar = () => ({ rows: [], final: "" });
export const isBlank = (row) => !row.when && row.hours === "" && row.grams === "";

/** Rows to write on: never fewer than a few, the last one empty. */
export function withRoom(rows) {
  while (rows.length < LEAST_ROWS || !isBlank(rows.at(-1))) rows.push({ when: "", hours: "", grams: "" });
  return rows;
}

/** A moment as a field of date and time writes it, in the time of this place. */
export const localNow = (now = new Date()) =>
  new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 16);

/** The day the bar was shaped, as the first date tells it; undefined where hours are written. */
export const madeOn = (rows, by) => (by === "date" ? rows.find((row) => row.when)?.when.slice(0, 10) : undefined);

/** The rows that hold a time and a weight: their place, hours since the first, weight as typed. */
export function weighingsOf(rows, by, mass = "g") {
  const first = Date.parse(rows.find((row) => row.when)?.when ?? "");
  return rows.flatMap((row, place) => {
    const hours = by === "date" ? (Date.parse(row.when) - first) / HOUR_MS : readNumber(row.hours);
    const grams = readMass(row.grams, mass);
    const whole = hours !== null && grams !== null && !Number.isNaN(hours) && !Number.isNaN(grams);
    return whole ? [{ place, hours: Number(hours.toFixed(3)), grams }] : [];
  });
}
