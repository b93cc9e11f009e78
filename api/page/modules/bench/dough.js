// The one place of the first part of the conversation: what went into the bowl.

import { button, focusOn, h, icon, isDesk, refill } from "../dom.js";
import { choice, claim, clearComplaints, complain, faultOf, field, slot } from "../fields.js";
import { finder } from "../finder.js";
import { kindOf, nameOf, remember } from "../names.js";
import { readNumber, show } from "../numbers.js";
import { keep, recipes, startAgain, state } from "../state.js";
import { count, offers, t } from "../known.js";
import { openMissing } from "../missing.js";
import { readTable } from "../table.js";
import { openOwnMaterial } from "../own-material.js";
import { drawLotsOf } from "./lots.js";
import { openFile, openPaste, openSamples, takeTable } from "./openers.js";
import { totalBar } from "./total.js";
import { drawWishes } from "./wishes.js";
import { undoable } from "../undo.js";
import { rename } from "../address.js";
import { openRecipes, openVersions } from "../recipes.js";

const PAUSE_MS = 350;
let waiting = 0;

/** Draw the recipe: as one sentence once the talk has moved on, as a list to write on before that. */
export function drawDough(place, bench) {
  const { lines } = state.recipe;
  if (lines.length && state.open !== "dough" && !isDesk()) return refill(place, summary(bench));
  return refill(
    place,
    h(
      "div",
      { class: "said" },
      h("h2", { id: "dough-title", tabindex: "-1" }, state.recipe.name || t("dough.title")),
      lines.length ? versionsButton() : null,
    ),
    ...(lines.length ? [list(bench), adder(bench), ...below(bench)] : starters(bench)),
  );
}

function summary(bench) {
  const { name, lines } = state.recipe;
  return h(
    "div",
    { class: "said" },
    h(
      "div",
      {},
      h("h2", { id: "dough-title", tabindex: "-1" }, name || t("dough.yours")),
      h("p", {}, count("dough.lines", lines.length), ", ", sumText()),
    ),
    h(
      "div",
      { class: "said-do" },
      button([t("words.change"), h("span", { class: "unseen" }, ` ${t("dough.title")}`)], () => bench.open("dough"), {
        class: "quiet",
      }),
      versionsButton(),
    ),
  );
}

const versionsButton = () =>
  offers().notebook ? button(t("recipes.versions"), openVersions, { class: "quiet" }) : null;

const starters = (bench) => [
  h("p", {}, t("shell.does")),
  adder(bench),
  h(
    "div",
    { class: "starters" },
    [
      ["paste", "open.paste", () => openPaste(bench)],
      ["file", "open.file", () => openFile(bench)],
      ["bowl", "open.sample", () => openSamples(bench)],
      recipes().length ? ["book", "recipes.title", openRecipes] : null,
    ]
      .filter(Boolean)
      .map(([name, text, onclick]) => button([icon(name), h("span", {}, t(text))], onclick, { class: "big" })),
  ),
];

function adder(bench) {
  const { box, input } = finder({
    label: t(state.recipe.lines.length ? "dough.add_next" : "dough.add_first"),
    placeholder: t("dough.add_example"),
    onpaste: (text) => takeTable(bench, readTable(text)),
    onnone: () => {
      own.hidden = false;
    },
    onfound: (material) => {
      const there = state.recipe.lines.findIndex((line) => line.key === material.key);
      if (there < 0) state.recipe.lines.push({ key: material.key, amount: "", keep: false });
      bench.redraw();
      focusOn(`[data-amount="${there < 0 ? state.recipe.lines.length - 1 : there}"]`);
    },
  });
  const own = button(
    t("finder.own"),
    () => openOwn(bench, input.value.trim()),
    { class: "quiet", hidden: state.recipe.lines.length === 0 },
  );
  return h("div", { class: "adder" }, box, own);
}

/** Let the maker describe a material; the line that was typed by its name is it, or a new one. */
export const openOwn = (bench, name = "") =>
  openOwnMaterial({ name, onmade: (material) => addOwn(material, name, bench) });

function addOwn(material, name, bench) {
  const { lines } = state.recipe;
  state.materials = [...state.materials.filter((one) => one.key !== material.key), material];
  remember(material);
  const typed = lines.find((line) => !line.key && line.typed === name);
  if (typed) typed.key = material.key;
  else lines.push({ key: material.key, amount: "", keep: false });
  bench.redraw();
  if (typed) bench.changed();
  focusOn(`[data-amount="${typed ? lines.indexOf(typed) : lines.length - 1}"]`);
}

function list(bench) {
  return h(
    "ul",
    { class: "lines" },
    state.recipe.lines.map((line, place) => row(line, place, bench)),
  );
}

function row(line, place, bench) {
  return line.key ? knownRow(line, place, bench) : unknownRow(line, place, bench);
}

function knownRow(line, place, bench) {
  const { unit } = state.recipe;
  const name = nameOf(line.key);
  const below = slot();
  const lots = h("span", { class: "line-lots" });
  const again = () => {
    bench.redraw();
    bench.changed();
  };
  const tools = h(
    "div",
    { class: "line-tools", hidden: true },
    lots,
    button(
      t("dough.keep"),
      () => {
        line.keep = !line.keep;
        again();
      },
      { class: "segment", "aria-pressed": String(Boolean(line.keep)) },
    ),
    button(
      t("dough.remove"),
      () => {
        undoable(t("undo.line", { name }), () => state.recipe.lines.splice(place, 1), bench.show);
        again();
      },
      { class: "segment" },
    ),
  );
  const opener = button(
    [
      h("span", {}, name),
      line.keep ? h("span", { class: "tag" }, t("dough.kept")) : null,
      line.lot ? h("span", { class: "tag", translate: "no" }, t("dough.lot", { lot: line.lot })) : null,
    ],
    () => {
      tools.hidden = !tools.hidden;
      opener.setAttribute("aria-expanded", String(!tools.hidden));
      if (!tools.hidden) drawLotsOf(line, lots, again);
    },
    { class: "line-name", "aria-expanded": "false" },
  );
  const amount = h("input", {
    type: "text",
    inputmode: "decimal",
    autocomplete: "off",
    class: "amount",
    "data-amount": place,
    "aria-label": t(`dough.amount_${unit}`, { name }),
    value: line.amount,
    oninput: (event) => typed(line, event.target, below, bench),
    onkeydown: (event) => event.key === "Enter" && focusOn(`[data-amount="${place + 1}"], .adder input`),
  });
  claim(`/recipe/lines/${place}`, amount, below);
  complain(amount, below, faultOf(line.amount));
  return h(
    "li",
    { class: `line line-${kindOf(line.key)}` },
    opener,
    h(
      "span",
      { class: "input" },
      amount,
      h("span", { class: "unit", "aria-hidden": "true" }, signOf(unit)),
    ),
    button(icon("empty-scoop"), () => openMissing(line.key, bench), {
      class: "icon-button",
      "aria-label": t("dough.missing", { name }),
      title: t("dough.missing_short"),
    }),
    below,
    tools,
  );
}

const signOf = (unit) => ({ percent: "%", grams: "g", ounces: "oz" })[unit];

function typed(line, input, below, bench) {
  line.amount = input.value;
  keep();
  complain(input, below, faultOf(input.value));
  document.querySelector("#dough .total")?.replaceWith(totalBar());
  document.querySelector("#dough .whole-offer")?.replaceWith(wholeOffer(bench));
  clearTimeout(waiting);
  waiting = setTimeout(() => bench.changed(), PAUSE_MS);
}

function unknownRow(line, place, bench) {
  const {
    box,
    input,
    slot: below,
  } = finder({
    label: t("dough.which_is", { name: line.typed }),
    value: line.typed,
    onfound: (material) => {
      Object.assign(line, { key: material.key });
      bench.redraw();
      bench.changed();
    },
  });
  claim(`/recipe/lines/${place}`, input, below);
  return h(
    "li",
    { class: "line line-unknown" },
    box,
    h("span", { class: "line-typed" }, `${line.amount} ${signOf(state.recipe.unit)}`),
    button(
      t("finder.own"),
      () => openOwn(bench, line.typed),
      { class: "quiet" },
    ),
    button(
      icon("cross"),
      () => {
        undoable(t("undo.line", { name: line.typed }), () => state.recipe.lines.splice(place, 1), bench.show);
        bench.redraw();
        bench.changed();
      },
      { class: "icon-button", "aria-label": t("dough.remove_this", { name: line.typed }) },
    ),
  );
}

function below(bench) {
  const complaint = slot();
  const bar = totalBar();
  claim("/recipe", bar, complaint);
  return [
    bar,
    complaint,
    wholeOffer(bench),
    choice({
      label: t("dough.unit"),
      hiddenLabel: true,
      chosen: state.recipe.unit,
      options: [
        ["percent", t("dough.percent")],
        ["grams", t("dough.grams")],
        ["ounces", t("dough.ounces")],
      ],
      onchoose: (unit) => {
        state.recipe.unit = unit;
        clearComplaints();
        bench.redraw();
        bench.changed();
      },
    }),
    h(
      "details",
      { class: "more" },
      h("summary", {}, t("dough.more")),
      field({
        label: t("dough.name"),
        value: state.recipe.name,
        inputmode: "text",
        oninput: (event) => {
          state.recipe.name = event.target.value;
          bench.changed();
        },
      }).box,
      drawWishes(bench),
      h(
        "div",
        { class: "row" },
        button(t("open.sample"), () => openSamples(bench), { class: "quiet" }),
        button(t("open.paste"), () => openPaste(bench), { class: "quiet" }),
        button(t("open.file"), () => openFile(bench), { class: "quiet" }),
        button(t("dough.others"), openRecipes, { class: "quiet" }),
        button(t("dough.again"), () => empty(bench), { class: "quiet" }),
      ),
    ),
    state.report
      ? button(t("happened.next"), () => bench.open("answer"), { class: "primary" })
      : button(t("dough.next"), () => bench.open("happened"), { class: "primary" }),
  ];
}

const NEAR_ONE = 0.0006;
const NEAR_WHOLE = 0.05;
const sum = () => state.recipe.lines.reduce((total, line) => total + (readNumber(line.amount) || 0), 0);

/** Whether what is called percent adds up to one: then shares were meant. */
const isShares = () => Math.abs(sum() - 1) < NEAR_ONE;

/** Whether every line has its percent, and all together miss the whole. */
const isShort = () =>
  state.recipe.unit === "percent" &&
  state.recipe.lines.length > 1 &&
  state.recipe.lines.every((line) => readNumber(line.amount) > 0) &&
  Math.abs(sum() - 100) > NEAR_WHOLE;

function toPercent(bench) {
  const whole = sum();
  const percent = (line) => ({ ...line, amount: show((100 * readNumber(line.amount)) / whole, 4) });
  undoable(t("undo.percent"), () => (state.recipe.lines = state.recipe.lines.map(percent)), bench.show);
  bench.redraw();
  bench.changed();
}

function empty(bench) {
  undoable(t("undo.emptied"), () => startAgain({ open: "dough" }), bench.show);
  rename("#bench");
  bench.show();
}

/** What makes the percents add up, where every line has one and they do not. */
const wholeOffer = (bench) =>
  h(
    "div",
    { class: "whole-offer" },
    isShort() ? button(t(isShares() ? "dough.shares" : "dough.whole"), () => toPercent(bench)) : null,
  );

const sumText = () => t(`dough.sum_${state.recipe.unit}`, { total: show(sum()) });
