// A form drawn from a description: a field a value, kept as it is typed, complaints beside it.

import { button, folded, h, icon, refill } from "../dom.js";
import { claim, field, held, select } from "../fields.js";
import { finder } from "../finder.js";
import { learn, nameOf } from "../names.js";
import { fromGrams, readMass, readNumber } from "../numbers.js";
import { recipeOf, Unreadable } from "../request.js";
import { keep, recipes, state } from "../state.js";
import { has, offers, t } from "../known.js";

/** What a path is called: "batches.1.recipe" is "Batch 2: recipe". */
function labelOf(at) {
  const place = /^(batches|recipes)\.(\d+)(?:\.|$)/.exec(at);
  const bare = place ? at.slice(place[0].length) : at;
  const text = bare ? t(`plan.field.${bare.replaceAll(".", "_")}`) : "";
  const said = [place ? t(`plan.${place[1]}`, { number: Number(place[2]) + 1 }) : "", text].filter(Boolean).join(": ");
  return said.startsWith("pH") ? said : said.charAt(0).toUpperCase() + said.slice(1);
}

/** The recipes there are to choose from: the one on the bench, its next, and those of this device; none are called alike. */
export function choosable() {
  const name = state.recipe.name || t("dough.yours");
  const here = state.recipe.lines.length ? [["bench", name]] : [];
  const next = state.next ? [["next", t("plan.next_of", { name })]] : [];
  const others = recipes().filter((one) => one.id !== state.id);
  const all = [...here, ...next, ...others.map((one) => [one.id, one.own.recipe.name || t("dough.yours")])];
  const alike = (name, place) => all.slice(0, place).filter((one) => one[1] === name).length;
  return all.map(([id, name], place) => [id, alike(name, place) ? `${name} (${alike(name, place) + 1})` : name]);
}

/** The recipe behind a choice, as calls take it; null where it cannot be read. */
function chosenRecipe(id) {
  if (id === "next") return state.next;
  const own = id === "bench" ? state : recipes().find((one) => one.id === id)?.own;
  try {
    return own ? recipeOf(own, {}) : null;
  } catch (error) {
    if (error instanceof Unreadable) return null;
    throw error;
  }
}

/** Draw the fields of a task; changed is told after each. */
export function drawForm({ fields }, values, changed) {
  const prices = h("details", { class: "more prices" });
  const drawn = (asked) =>
    asked.kind === "prices" ? prices : drawField(asked, values, () => (changed(), drawPrices(prices, values, changed)));
  const more = fields.filter((asked) => asked.more);
  const all = [
    ...fields.filter((asked) => !asked.more).map(drawn),
    more.length ? folded(t("plan.more"), h("div", { class: "pair" }, more.map(drawn))) : null,
  ];
  drawPrices(prices, values, changed);
  return all;
}

/** Draw a price a line of the chosen recipe; what was paid for a material stays for every recipe. */
async function drawPrices(place, values, changed) {
  const keys = keysOf(values);
  await learn(keys);
  const told = (values.prices ??= {});
  const one = (key) => amount(told, key, nameOf(key), t("plan.per_kg"), `/prices/${key}`, changed);
  refill(place, h("summary", {}, t("plan.field.prices")), keys.map(one));
}

const keysOf = ({ recipe }) => chosenRecipe(recipe)?.lines.map((line) => line.material) ?? [];

/** A figure of one material, as it is typed. */
const amount = (holder, key, label, unit, pointer, changed) =>
  held(holder, key, () => (keep(), changed()), { label, unit, pointer });

/** The recipe that stands first in a field: at its place among those of other bars, and the next batch after them. */
function suggested(place) {
  const all = choosable();
  const ranked = [...all.filter(([id]) => id !== "next"), ...all.filter(([id]) => id === "next")];
  return place === undefined ? undefined : ranked[place]?.[0];
}

function drawField({ at, kind, unit, value, options, needed, first }, values, changed) {
  const label = labelOf(at);
  const pointer = `/${at.replaceAll(".", "/")}`;
  const set = (given) => {
    values[at] = given;
    keep();
    changed();
  };
  if (kind === "recipe") {
    const found = needed ? choosable() : [["", t("plan.none")], ...choosable()];
    values[at] = found.some(([id]) => id === values[at]) ? values[at] : (suggested(first) ?? found[0]?.[0]);
    return select({ label, chosen: values[at], options: found, onchoose: set });
  }
  if (kind === "choice") {
    values[at] ??= at.endsWith("balance_step") ? state.weigh.step : String(options[0]);
    return select({
      label,
      chosen: values[at],
      options: options.map((one) => [String(one), optionText(one)]),
      onchoose: set,
    });
  }
  if (kind === "flags") return flags(label, options, values[at] ?? [], set);
  if (kind === "materials") return shelf(label, values[at] ?? startingShelf(), set, pointer);
  if (kind === "material") return shelf(label, values[at] ? [values[at]] : [], ([key]) => set(key ?? ""), pointer, 1);
  if (kind === "features") return features(label, (values[at] ??= {}), () => (keep(), changed()));
  values[at] ??= firstOf(kind, value);
  return field({
    label,
    unit: kind === "mass" ? state.mass : unit,
    inputmode: WORDS.includes(kind) ? "text" : "decimal",
    pointer,
    value: values[at],
    onchange: (event) => set(event.target.value),
  }).box;
}

const WORDS = ["text", "currency"];
const FIRST = { mass: (value) => fromGrams(value, state.mass), currency: () => offers().currency };
const firstOf = (kind, value) => (value === undefined && kind !== "currency" ? "" : (FIRST[kind]?.(value) ?? value ?? ""));

const optionText = (one) =>
  has(`plan.option.${one}`) ? t(`plan.option.${one}`) : has(`market.${one}`) ? t(`market.${one}`) : `${one} g`;
const startingShelf = () => [
  ...new Set([...state.recipe.lines.map((line) => line.key).filter(Boolean), ...state.shelf]),
];

const flags = (label, options, chosen, set) =>
  h(
    "div",
    { class: "signs", role: "group", "aria-label": label },
    h("p", { class: "choice-label" }, label),
    h(
      "div",
      { class: "signs-row" },
      options.map((one) =>
        button(
          t(`plan.option.${one}`),
          (event) => {
            const on = event.currentTarget.getAttribute("aria-pressed") !== "true";
            event.currentTarget.setAttribute("aria-pressed", String(on));
            chosen = on ? [...chosen, one] : chosen.filter((each) => each !== one);
            set(chosen);
          },
          { class: "sign", "aria-pressed": String(chosen.includes(one)) },
        ),
      ),
    ),
  );

/** Materials to choose, with `most` the last so many. */
function shelf(label, chosen, set, pointer, most = Infinity) {
  const place = h("ul", { class: "told-list" });
  const draw = () =>
    refill(
      place,
      ...chosen.map((key) => {
        const out = () => take(chosen.filter((one) => one !== key));
        const words = { class: "icon-button small", "aria-label": t("wishes.shelf_remove", { name: nameOf(key) }) };
        return h("li", {}, nameOf(key), button(icon("cross"), out, words));
      }),
    );
  const take = (keys) => {
    chosen = keys;
    draw();
    set(keys);
  };
  const { box, input, slot: below } = finder({ label, onfound: ({ key }) => take([...new Set([...chosen, key])].slice(-most)) });
  claim(pointer, input, below);
  learn(chosen).then(draw);
  return h("div", { class: "shelf" }, box, place);
}

/** What shall be in a new bar, each with its percent. */
function features(label, told, changed) {
  const place = h("ul", { class: "plain" });
  const draw = () =>
    refill(
      place,
      ...Object.keys(told).map((key) => {
        const out = () => (delete told[key], changed(), draw());
        const words = { class: "icon-button small", "aria-label": t("dough.remove_this", { name: nameOf(key) }) };
        const box = amount(told, key, nameOf(key), "%", `/features/${key}`, changed);
        return h("li", { class: "feature" }, box, button(icon("cross"), out, words));
      }),
    );
  const take = ({ key }) => ((told[key] ??= ""), changed(), draw());
  const { box } = finder({ label, onfound: take });
  learn(Object.keys(told)).then(draw);
  return h("div", { class: "shelf" }, box, place);
}

/** What was typed of each material, as numbers; what is empty is left out. */
const figuresOf = (told, keys) =>
  Object.fromEntries(
    keys.filter((key) => told?.[key]).map((key) => [key, numberOr(told[key], readNumber(told[key]))]),
  );

/** What stands in the form, as values of the body; what is no number stays text, and the server says so beside it. */
export function valuesOf({ fields }, values) {
  const read = {
    recipe: chosenRecipe,
    mass: (text) => numberOr(text, readMass(text, state.mass)),
    number: (text) => numberOr(text, readNumber(text)),
    choice: (text) =>
      ["true", "false"].includes(text) ? text === "true" : Number.isNaN(Number(text)) ? text : Number(text),
    materials: (keys) => keys ?? startingShelf(),
    prices: (told) => figuresOf(told, keysOf(values)),
    features: (told) => figuresOf(told, Object.keys(told ?? {})),
  };
  return Object.fromEntries(
    fields.map(({ at, kind }) => {
      const found = kind in read ? read[kind](values[at]) : values[at]?.length ? values[at] : null;
      return [at, kind === "recipe" && at.startsWith("batches") ? named(found, values[at]) : found];
    }),
  );
}

/** A recipe without a name goes among others by what it is called where it was chosen. */
const named = (recipe, id) => recipe && { ...recipe, name: recipe.name || choosable().find((one) => one[0] === id)?.[1] };

const numberOr = (text, number) => (Number.isNaN(number) ? text : number);
