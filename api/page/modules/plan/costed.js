// What was paid when a costing was last asked on an earlier day, so that the next one says what moved since.

import { keep, state } from "../state.js";

const DAYS_KEPT = 2;
const today = () => new Date().toISOString().slice(0, 10);

/** Write down the prices of a costing of today. */
export function paid(lines) {
  const prices = lines.filter((line) => line.price_per_kg !== null).map((line) => [line.material, line.price_per_kg]);
  const days = { ...state.costed, [today()]: { ...state.costed?.[today()], ...Object.fromEntries(prices) } };
  state.costed = Object.fromEntries(Object.entries(days).sort().slice(-DAYS_KEPT));
  keep();
}

/** The prices of the last earlier day, of what a recipe holds. */
export function paidBefore(recipe) {
  const held = new Set(recipe?.lines.map((line) => line.material));
  const day = Object.keys(state.costed ?? {}).sort().findLast((one) => one < today());
  return Object.fromEntries(Object.entries(state.costed?.[day] ?? {}).filter(([key]) => held.has(key)));
}
