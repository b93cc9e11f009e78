// The next recipe beside the old one: one table in the order of the recipe, a reason under each line that moves.

import { button, folded, h, icon } from "../dom.js";
import { openSheet } from "../dialog.js";
import { field } from "../fields.js";
import { nameOf } from "../names.js";
import { fromGrams, show, showChange, showMass } from "../numbers.js";
import { inSteps } from "../request.js";
import { keep, state } from "../state.js";
import { offers, t } from "../known.js";
import { openMissing } from "../missing.js";
import { takeOver } from "../recipes.js";
import { openSave } from "../notebook/save.js";

/** Draw the next recipe. */
export function nextPart({ answer, body }, bench) {
  return h(
    "section",
    { class: "part", "aria-labelledby": "next-title" },
    h(
      "div",
      { class: "next-head" },
      h("h3", { id: "next-title" }, t(answer.status === "unchanged" ? "next.title_unchanged" : "next.title")),
      batchField(body, bench),
    ),
    recipeTable(answer, body, bench),
    answer.hold_back.length ? h("p", { class: "hold-back" }, t("next.hold_back"), " ", heldBack(answer)) : null,
    h(
      "div",
      { class: "row" },
      button([icon("scale"), t("next.weigh")], () => use(answer, "#weigh"), { class: "primary" }),
      button(t("next.label"), () => use(answer, "#label")),
      answer.changes.length ? button(t("plan.make"), () => takeOver(answer.recipe, sameBar())) : null,
      button(t("next.copy"), (event) => copy(answer, event.currentTarget)),
      offers().notebook ? button(t("next.save"), () => openSave(state.answered)) : null,
    ),
  );
}

/** What a recipe that takes the place of another has of it: wishes, shelf, and the record of the batch that was weighed. */
const sameBar = () => ({ wishes: state.wishes, shelf: state.shelf, record: state.record });

function batchField(body, bench) {
  return field({
    label: t("next.batch"),
    hiddenLabel: true,
    unit: state.mass,
    small: true,
    pointer: "/batch_grams",
    value: fromGrams(body.batch_grams, state.mass),
    onchange: (event) => {
      state.weigh.batch = event.target.value;
      bench.changed();
    },
  }).box;
}

function recipeTable(answer, body, bench) {
  const { batch_grams: batch, balance_step: step } = body;
  const moved = new Map(answer.changes.map((change) => [change.material, change]));
  const after = new Map(answer.recipe.lines.map((line) => [line.material, line.percent]));
  const written = body.recipe.lines.map((line) => line.material).filter((key) => after.has(key) || moved.has(key));
  const grams = (key) => moved.get(key)?.grams_after ?? inSteps((batch * (after.get(key) ?? 0)) / 100, step);
  const rows = [...new Set([...written, ...after.keys()])].flatMap((key) => {
    const change = moved.get(key);
    const now = after.get(key) ?? 0;
    return [
      h(
        "tr",
        { class: change ? "moved" : null },
        h(
          "th",
          { scope: "row" },
          button(nameOf(key), () => openLine(key, bench), { class: "line-name" }),
        ),
        h("td", {}, show(change ? change.before : now, 4)),
        h("td", { class: "now" }, h("span", {}, show(now, 4))),
        h("td", {}, show(fromGrams(grams(key), state.mass), 3)),
      ),
      change
        ? h(
            "tr",
            { class: "reason" },
            h("td", { colspan: 4 }, h("strong", { class: "by" }, showChange(change.change)), bareReason(change)),
          )
        : null,
    ];
  });
  const head = ["material", "was", "now", "grams"].map((name) =>
    h("th", { scope: "col" }, t(`next.${name}`, { unit: state.mass })),
  );
  return h(
    "table",
    { class: "recipe-table", "aria-labelledby": "next-title" },
    h("thead", {}, h("tr", {}, head)),
    h("tbody", {}, rows),
    h(
      "tfoot",
      {},
      h(
        "tr",
        {},
        h("th", { scope: "row" }, t("next.total")),
        h("td", {}, "100"),
        h("td", {}, "100"),
        h("td", {}, show(fromGrams(batch, state.mass), 3)),
      ),
    ),
  );
}

/** The reason without the words the row above it already says. */
function bareReason({ why }) {
  const because = /^(?:More|Less) .*?, (because .*)$/s.exec(why);
  return because ? ` ${because[1]}` : ` ${why}`;
}

/** What there is to say and to do about one line. */
export function openLine(key, bench) {
  const change = state.answered.answer.changes.find((one) => one.material === key);
  const { body, close } = openSheet(nameOf(key), { address: ["line", key] });
  const lacking = button(t("dough.missing_go"), () => close().then(() => openMissing(key, bench)), { class: "primary" });
  body.append(
    h("p", {}, change ? `${showChange(change.change)} %. ${change.why}` : t("next.stays")),
    change?.why_figures ? folded(t("next.why_figures"), h("p", {}, change.why_figures), { open: true }) : "",
    lacking,
  );
}

const heldBack = ({ hold_back: lines }) =>
  `${lines
    .map(
      (line) => `${line.grams ? showMass(line.grams, state.mass) : `${show(line.percent)} %`} ${nameOf(line.material)}`,
    )
    .join("; ")}.`;

function use(answer, view) {
  state.next = answer.recipe;
  state.weigh.which = "next";
  keep();
  location.hash = view;
}

async function copy(answer, button) {
  const text = answer.recipe.lines.map((line) => `${nameOf(line.material)}\t${show(line.percent, 4)}`).join("\n");
  await navigator.clipboard.writeText(`${answer.recipe.name}\n${text}`);
  button.textContent = t("words.copied");
}
