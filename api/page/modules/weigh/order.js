// The order in which a sheet is worked through: what is weighed for a phase, then what is done with it.

/** What a step is ticked off by. */
export const stepKey = (step) => `step ${step.id} ${step.phase}`;

/** How much of which material is kept back [g]. */
export const heldBackOf = (sheet) =>
  new Map([...sheet.hold_back, ...sheet.hold_back_powders].map((line) => [line.material, line.grams]));

/** @typedef {{ key: string, line?: any, step?: any }} Item one thing to tick off */

/**
 * Every line and every step, each with the key it is ticked off by; no line comes after the step it is needed for.
 * @type {(sheet: any) => Item[]}
 */
export const walk = ({ lines, steps }) => {
  const left = [...lines];
  const take = (wanted) => left.splice(0, left.length, ...left.filter((line) => !wanted(line)));
  /** @type {Item[]} */
  const items = [];
  for (const step of steps) {
    const due = left.filter((line) => step.phase && line.phase === step.phase);
    take((line) => due.includes(line));
    items.push(...due.map((line) => ({ key: line.material, line })), { key: stepKey(step), step });
  }
  return [...items, ...left.map((line) => ({ key: line.material, line }))];
};
