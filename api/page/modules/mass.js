// The one place where the maker changes from grams to ounces and back.

import { fromGrams, readMass } from "./numbers.js";
import { asTyped } from "./writing.js";

const TYPED = { weigh: ["batch", "bar"], bowl: ["grams", "step", "lost"], record: ["net_grams"] };

/** Write masses in another unit from now on; what was typed stays as heavy as it was. */
export function takeMass(state, unit) {
  const turned = (text) => {
    const grams = readMass(text, state.mass);
    return grams === null || Number.isNaN(grams) ? text : asTyped(fromGrams(grams, unit));
  };
  const turn = (owner, names) => {
    for (const name of names) if (owner?.[name]) owner[name] = turned(owner[name]);
  };
  for (const [part, names] of Object.entries(TYPED)) turn(state[part], names);
  turn(state.record.weighed, Object.keys(state.record.weighed ?? {}));
  for (const bar of state.drying.bars) {
    turn(bar, ["final"]);
    for (const row of bar.rows) turn(row, ["grams"]);
  }
  state.mass = unit;
}
