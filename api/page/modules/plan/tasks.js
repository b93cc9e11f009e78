// What else may be asked: a description a task, of its fields and of the order of its answer. Nothing here draws.

/**
 * @typedef {object} Asked a field: where its value goes in the body, and what kind of value it is
 * @property {string} at path in the body
 * @property {"recipe"|"mass"|"number"|"text"|"currency"|"choice"|"flags"|"material"|"materials"|"prices"|"features"} kind
 * @property {boolean} [needed]
 * @property {string} [unit]
 * @property {number} [value] what stands there first
 * @property {number} [first] the place of the recipe that stands there first
 * @property {any[]} [options] of a choice or of flags
 * @property {boolean} [more] whether it is folded
 *
 * @typedef {object} Task
 * @property {string} path
 * @property {Asked[]} fields
 * @property {boolean} [reads] whether it only reads what the notebook keeps
 * @property {string} [nothing] what is said where it keeps nothing
 * @property {string} [begins] the address where that begins
 * @property {boolean} [priced] whether the prices of an earlier day go with it
 * @property {string[]} [money] parts that are sums of the currency
 * @property {Record<string, string>} [units] where the answer says in which unit a part is
 * @property {string[]} shown parts of the answer, in their order
 * @property {string[][]} [scale] what of the answer lies on the scale of wetness, and what it is called there
 * @property {string[]} [folded] parts that are one line until asked for
 * @property {"materials"} [takes] what of the answer can be taken over
 * @property {string} [batches] the part that is the rack, where something can be done with each batch
 */

/** @type {Asked} */
const RECIPE = { at: "recipe", kind: "recipe", needed: true };
/** @type {Asked} */
const BATCH = { at: "batch_grams", kind: "mass", needed: true, value: 500 };
/** @type {Asked} */
const MARKET = { at: "wishes.market", kind: "choice", options: ["none", "eu", "uk", "us", "ca", "jp"] };
/** @type {(number: number, needed: boolean) => Asked[]} */
const batch = (number, needed) => [
  { at: `batches.${number}.recipe`, kind: "recipe", needed, first: number < 2 ? number : undefined },
  { at: `batches.${number}.batch_grams`, kind: "mass", value: 500 },
  { at: `batches.${number}.balance_step`, kind: "choice", options: [0.1, 1, 0.01], more: true },
];
/** @type {(at: string) => Asked} */
const sum = (at) => ({ at, kind: "number", more: true });

/** @type {Record<string, Task>} */
export const TASKS = {
  look: {
    path: "/v1/assessments",
    fields: [RECIPE, MARKET],
    shown: ["findings", "totals"],
    scale: [["consistency", "wetting.of_this"]],
    folded: ["consistency", "checks"],
  },
  compare: {
    path: "/v1/comparisons",
    fields: [{ ...RECIPE, at: "recipes.0", first: 0 }, { ...RECIPE, at: "recipes.1", first: 1 }, MARKET],
    shown: ["shifts", "lines", "label"],
    scale: [
      ["a.consistency", "wetting.of_first"],
      ["b.consistency", "wetting.of_second"],
    ],
    folded: ["a", "b"],
  },
  cost: {
    path: "/v1/costings",
    priced: true,
    fields: [
      RECIPE,
      BATCH,
      { at: "dried_bar_grams", kind: "mass", needed: true, value: 80 },
      { at: "prices", kind: "prices" },
      { at: "currency", kind: "currency" },
      ...["per_bar.wrap", "per_bar.label", "per_bar.other", "per_batch.work", "per_batch.other", "factor"].map(sum),
      { at: "loss_percent", kind: "number", unit: "%", more: true },
    ],
    shown: ["price", "per_bar", "bars", "per_batch", "unpriced", "moved"],
    money: ["price", "per_bar", "per_batch"],
    folded: ["lines", "sold"],
  },
  day: {
    path: "/v1/day-plans",
    fields: [...batch(0, true), ...batch(1, false), ...batch(2, false).map((one) => ({ ...one, more: true }))],
    shown: ["materials", "order", "melt"],
    folded: ["phases"],
  },
  draft: {
    path: "/v1/drafts",
    fields: [
      { at: "shelf", kind: "materials", needed: true },
      { at: "features", kind: "features" },
      {
        at: "wishes.claims",
        kind: "flags",
        options: ["sulfate_free", "palm_free", "vegan", "unscented", "not_ethoxylated"],
      },
      { at: "wishes.used_on", kind: "choice", options: ["hand_and_body", "face", "hair"] },
      MARKET,
      { at: "wishes.active.min", kind: "number", unit: "%", more: true },
      { at: "wishes.active.max", kind: "number", unit: "%", more: true },
      { ...BATCH, needed: false },
      { at: "balance_step", kind: "choice", options: [0.1, 1, 0.01], more: true },
    ],
    shown: ["options", "left_out"],
  },
  rework: {
    path: "/v1/reworks",
    fields: [
      RECIPE,
      { at: "dried", kind: "choice", options: [false, true], needed: true },
      { at: "mass_left", kind: "number", unit: "%", more: true },
      { at: "grams", kind: "mass" },
    ],
    shown: ["material.name", "material.use", "material.allergens", "lots", "expires"],
    folded: ["material.composition"],
    takes: "materials",
  },
  dose: {
    path: "/v1/ph-doses",
    fields: [
      { at: "first_ph", kind: "number", needed: true },
      { at: "material", kind: "material" },
      { at: "dose", kind: "number", needed: true },
      { at: "unit", kind: "choice", options: ["grams", "millilitres", "drops"] },
      { at: "second_ph", kind: "number", needed: true },
      { at: "target_ph", kind: "number", needed: true, value: 5.5 },
      { at: "test_percent", kind: "number", unit: "%", needed: true, value: 10 },
      { ...RECIPE, needed: false, first: 0 },
      { at: "test_dough_grams", kind: "mass", more: true },
      { at: "batch_grams", kind: "mass", more: true },
      { at: "confirmed", kind: "choice", options: [false, true], more: true },
    ],
    shown: ["pour_first", "state", "next_dose", "reaches_ph", "batch_dose", "batch_trial_dose"],
    units: Object.fromEntries(["next_dose", "batch_dose", "batch_trial_dose"].map((name) => [name, "pour_first.unit"])),
  },
  strength: {
    path: "/v1/strengths",
    fields: [
      RECIPE,
      { at: "balance_step", kind: "choice", options: [0.1, 1, 0.01] },
      { at: "band.min", kind: "number", unit: "%" },
      { at: "band.max", kind: "number", unit: "%" },
    ],
    shown: ["mean", "sd", "interval80", "chance_in_band", "band"],
    folded: ["contributions"],
  },
  rack: { path: "/v1/rack", reads: true, fields: [], shown: ["today", "items"], batches: "items", nothing: "plan.nothing_dries", begins: "#" },
  stock: { path: "/v1/stock", reads: true, fields: [], shown: ["items"], nothing: "plan.nothing_booked", begins: "#notebook/materials" },
};
