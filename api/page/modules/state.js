// The one place of what the maker has entered; it outlives a reload and a phone that sleeps.

const KEPT = "dough-advisor.bench";

export const emptyRecipe = () => ({ name: "", unit: "percent", lines: [] });

const fresh = () => ({
  recipe: emptyRecipe(),
  report: null,
  next: null,
  wishes: {},
  shelf: [],
  materials: [],
  history: [],
  bowl: { grams: "", step: "0.1", lost: "" },
  mass: "g",
  open: "dough",
  weigh: { batch: "", step: "0.1", fine: "", bar: "", ticks: {} },
  drying: { rows: [], final: "" },
  record: {},
});

function kept() {
  try {
    return { ...fresh(), ...JSON.parse(localStorage.getItem(KEPT) ?? "{}") };
  } catch {
    return fresh();
  }
}

export const state = kept();

/** Keep the state where a reload finds it again. */
export function keep() {
  try {
    localStorage.setItem(KEPT, JSON.stringify(state));
  } catch {
    // A browser that keeps nothing still answers; only the reload forgets.
  }
}

/** Start again with an empty bench; units and balances stay. */
export function startAgain() {
  const { bowl, mass, weigh } = state;
  Object.assign(state, fresh(), {
    mass,
    bowl: { ...fresh().bowl, step: bowl.step },
    weigh: { ...fresh().weigh, step: weigh.step, fine: weigh.fine },
  });
  keep();
}
