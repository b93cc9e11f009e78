// The one place of what the maker has entered; it outlives a reload and a phone that sleeps.

const KEPT = "dough-advisor.bench";

export const emptyRecipe = () => ({ name: "", unit: "percent", lines: [] });

const fresh = () => ({
  id: undefined,
  recipe: emptyRecipe(),
  report: null,
  kept: null,
  next: null,
  answered: null,
  wishes: {},
  ph: { value: "", at: "" },
  shelf: [],
  materials: [],
  history: [],
  bowl: { grams: "", step: 0.1, lost: "" },
  mass: "g",
  open: "dough",
  weigh: { batch: "", step: "0.1", fine: "", bar: "", ticks: {} },
  drying: { bar: 0, by: "date", bars: [{ rows: [], final: "" }] },
  record: {},
});

function kept() {
  try {
    const found = { ...fresh(), ...JSON.parse(localStorage.getItem(KEPT) ?? "{}") };
    return found.drying.bars ? found : { ...found, drying: { ...fresh().drying, bars: [found.drying] } };
  } catch {
    return fresh();
  }
}

export const state = kept();

/** What makes a recipe a thing of its own: it is listed, opened and put away whole. */
const OWN = ["recipe", "kept", "report", "wishes", "ph", "shelf", "materials", "history"];
const LIST = "dough-advisor.recipes";

/** The recipes of this device, the last touched first. */
export function recipes() {
  try {
    const found = JSON.parse(localStorage.getItem(LIST) ?? "{}");
    return Object.values(found).sort((a, b) => b.at.localeCompare(a.at));
  } catch {
    return [];
  }
}

/** Keep the state where a reload and another tab find it, and the recipe in the list; what is the same is not written. */
export function keep() {
  try {
    const own = Object.fromEntries(OWN.map((name) => [name, state[name]]));
    if (state.recipe.lines.length) {
      state.id ??= `${Date.now().toString(36)}${Math.random().toString(36).slice(2, 6)}`;
      const all = Object.fromEntries(recipes().map((one) => [one.id, one]));
      if (JSON.stringify(all[state.id]?.own) !== JSON.stringify(own)) {
        all[state.id] = { id: state.id, at: new Date().toISOString(), own };
        write(LIST, JSON.stringify(all));
      }
    }
    write(KEPT, JSON.stringify(state));
  } catch {
    // A browser that keeps nothing still answers; only the reload forgets.
  }
}

function write(place, text) {
  if (localStorage.getItem(place) !== text) localStorage.setItem(place, text);
}

/** Put a recipe of the list on the bench; false where there is none of that id. */
export function openRecipe(id) {
  const found = recipes().find((one) => one.id === id);
  if (!found) return false;
  if (state.id !== id) startAgain({ id, ...structuredClone(found.own), open: found.own.report ? "answer" : "dough" });
  return true;
}

/** Put a recipe into the list, or take it out. */
export function listRecipe(id, one) {
  const all = Object.fromEntries(recipes().map((each) => [each.id, each]));
  if (one) all[id] = one;
  else delete all[id];
  write(LIST, JSON.stringify(all));
}

/** Start again with an empty bench, or with what is given; units and balances stay. */
export function startAgain(given = {}) {
  const { bowl, mass, weigh, drying, notebook, label } = state;
  Object.assign(
    state,
    fresh(),
    {
      mass,
      drying,
      notebook,
      label: { ...label, market: undefined },
      bowl: { ...fresh().bowl, step: bowl.step },
      weigh: { ...fresh().weigh, step: weigh.step, fine: weigh.fine },
    },
    given,
  );
  keep();
}

/** Take over what another tab has entered; tell it through `changed`. */
export function followOtherTabs(changed) {
  addEventListener("storage", ({ key, newValue }) => {
    if (key !== KEPT || newValue === null || newValue === JSON.stringify(state)) return;
    Object.assign(state, fresh(), JSON.parse(newValue));
    changed();
  });
}
