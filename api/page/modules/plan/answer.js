// An answer drawn from its own shape: tables of rows, lists of sentences, pairs of name and figure.

import { button, folded, h, icon, list } from "../dom.js";
import { isKnown, nameOf } from "../names.js";
import { fromGrams, show, showChange } from "../numbers.js";
import { takeOver } from "../recipes.js";
import { has, t } from "../known.js";
import { state } from "../state.js";
import { checkItem } from "../answer/limits.js";

const isFacts = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
const HIDDEN = new Set(["id", "key", "recipe_key", "do"]);
const PERCENT = ["active", "primary_active", "cationic", "water", "liquids", "powders", "oils", "mass_left", "percent", "mean", "sd"];
const GRAMS = ["grams", "on_hand", "reserved", "trial_grams", "whole_grams"];
const UNITS = {
  interval80: "%",
  band: "%",
  use: "%",
  ...Object.fromEntries(GRAMS.map((name) => [name, "g"])),
  ...Object.fromEntries(PERCENT.map((name) => [name, "%"])),
};

/** What a field of an answer is called; one without a text is called by its own name. */
function called(path) {
  const name = path.split(".").at(-1);
  return has(`plan.part.${name}`) ? t(`plan.part.${name}`) : name.replaceAll("_", " ");
}

/** Draw the parts of an answer under their names, figures in a unit; null where there is nothing to show. */
export function drawPart(name, value, unit = UNITS[name.split(".").at(-1)]) {
  const shown = drawValue(name, value, unit);
  return shown ? h("section", { class: "part" }, h("h3", {}, called(name)), shown) : null;
}

/** Draw a part as one line that opens. */
export function drawFolded(name, value) {
  const shown = drawValue(name, value);
  return shown ? folded(called(name), shown) : null;
}

function drawValue(name, value, unit) {
  if (value === null || value === undefined || value.length === 0) return null;
  if (name === "checks") return h("ul", { class: "checks checks-rest" }, value.map(checkItem));
  if (Array.isArray(value)) return rows(name, value);
  if (isFacts(value)) return inOneSentence(name, value) ?? facts(value, unit);
  return h("p", { class: "verdict" }, worded(name, value, unit));
}

/** A part that reads as one sentence; null where the page has none for it. */
function inOneSentence(name, value) {
  if (!has(`plan.said.${name}`)) return null;
  const words = Object.entries(value).map(([key, one]) => [key, one === null ? t("plan.said.same") : worded(key, one)]);
  return h("p", { class: "verdict" }, t(`plan.said.${name}`, Object.fromEntries(words)));
}

function rows(name, value) {
  if (!isFacts(value[0]))
    return list(
      "plain",
      value.map((one) => worded(name, one)),
    );
  if (value[0].text)
    return list(
      "cautions",
      value.map((one) => [
        icon(["danger", "law", "dough"].includes(one.severity) ? "warn" : "hand"),
        h("p", {}, ownText(one)),
      ]),
    );
  if (value.some((one) => isFacts(one.recipe))) return h("ol", { class: "options" }, value.map(option));
  return table(value);
}

/** A sentence, after the batch it is said of; a batch without a name is called by its number alone. */
function ownText({ name, batch, text }) {
  if (batch === undefined) return text;
  const number = worded("batch", batch);
  const told = name.toLowerCase() === number.toLowerCase() ? number : `${number}, ${name}`;
  return [h("strong", {}, `${told}: `), text];
}

/** Beyond so many columns the rows of a table stand as cards on a phone. */
const MOST_COLUMNS = 4;

/** Rows of the same shape; lists inside a row are told in words. */
function table(value) {
  const columns = Object.keys(value[0]).filter((key) => !HIDDEN.has(key) && !(key === "material" && value[0].name));
  const isWordy = value.some((one) => columns.some((key) => Array.isArray(one[key])));
  const figured = (key) => (value.some((one) => typeof one[key] === "number") ? "figure-cell" : null);
  const cell = (one, key) => h("td", { class: figured(key), "data-label": called(key) }, worded(key, one[key], UNITS[key], 2));
  return h(
    "div",
    { class: "wide", tabindex: 0, role: "region", "aria-label": columns.map(called).join(", ") },
    h(
      "table",
      { class: `plain-table ${columns.length > MOST_COLUMNS ? "many" : columns.length > 2 || isWordy ? "named" : ""}` },
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          columns.map((key) => h("th", { scope: "col", class: figured(key) }, called(key))),
        ),
      ),
      h(
        "tbody",
        {},
        value.map((one) =>
          h(
            "tr",
            {},
            columns.map((key) => cell(one, key)),
          ),
        ),
      ),
    ),
  );
}

/** One of several whole recipes: its lines, and all that is said of it. */
function option(one, place) {
  const { recipe, findings, totals, consistency, checks, trial, batch } = one;
  const inGrams = (lines) => Object.fromEntries((lines ?? []).map(({ material, grams }) => [material, grams]));
  const [small, whole] = [inGrams(trial.lines), inGrams(batch)];
  const said = ["good_at", "weak_at", "asked_for"].flatMap((key) => one[key].map((text) => `${called(key)}: ${text}`));
  const lines = recipe.lines.map(({ material, percent }) => ({
    material,
    percent,
    trial_grams: small[material],
    ...(batch ? { whole_grams: whole[material] } : {}),
  }));
  const weigh = { ...state.weigh, batch: String(fromGrams(trial.batch_grams, state.mass)), which: "mine", ticks: {} };
  return h(
    "li",
    { class: "option" },
    h("h3", {}, `${place + 1}. ${recipe.name}`),
    list("plain", said),
    table(lines),
    rows("findings", findings),
    h(
      "div",
      { class: "row" },
      button(t("plan.try"), () => takeOver(recipe, { weigh }, "#weigh"), { class: "primary" }),
      button(t("plan.make"), () => takeOver(recipe)),
    ),
    Object.entries({ totals, consistency, checks }).map(([key, value]) => drawFolded(key, value)),
  );
}

function facts(value, unit) {
  const told = Object.entries(value).filter(([, one]) => isTold(one));
  const pair = ([key, one]) =>
    h("div", {}, h("dt", {}, isKnown(key) ? nameOf(key) : called(key)), h("dd", {}, worded(key, one, unit)));
  return told.length ? h("dl", { class: "facts" }, told.map(pair)) : null;
}

const isTold = (one) => one !== null && one !== undefined && one.length !== 0;

/** A value in words: names for keys, figures with their unit, lists one after another. */
function worded(name, value, unit = UNITS[name], decimals = 1) {
  if (value === null || value === undefined) return "–";
  if (typeof value === "boolean") return t(value ? "plan.yes" : "plan.no");
  if (name === "batch") return t("plan.batches", { number: value + 1 });
  if (name === "change") return value ? showChange(value) : "";
  if (name.startsWith("chance")) return `${show(100 * value, 0)} %`;
  if (typeof value === "number") return `${show(value, unit === "%" ? decimals : 3)} ${unit ?? ""}`.trim();
  if (Array.isArray(value)) return value.map((one) => worded(name, one)).join("; ");
  if (isFacts(value)) {
    const bare = (key) => key === "material" || key === "text" || key === "batch" || GRAMS.includes(key);
    const told = Object.entries(value).filter(([, one]) => isTold(one));
    return told.map(([key, one]) => (bare(key) ? worded(key, one) : `${called(key)} ${worded(key, one)}`)).join(", ");
  }
  return isKnown(value) ? nameOf(value) : has(`plan.option.${value}`) ? t(`plan.option.${value}`) : String(value);
}
