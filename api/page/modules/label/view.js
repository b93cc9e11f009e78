// The one place of the texts that go with a bar: its ingredient list and its batch record.

import { get, post } from "../api.js";
import { button, folded, h, list, refill } from "../dom.js";
import { cautionList } from "../answer/words-part.js";
import { select } from "../fields.js";
import { surroundings } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { MARKETS } from "../bench/wishes.js";
import { recipeToWeigh } from "../weigh/view.js";
import { drawRecord } from "./record.js";
import { trouble } from "../trouble.js";

/** Show the label and the record. */
export function show(main) {
  const label = h("section", { class: "step", "aria-labelledby": "label-title" });
  const record = h("section", { class: "step", "aria-labelledby": "record-title" });
  refill(main, h("div", { class: "narrow" }, label, record));
  const recipe = state.recipe.lines.length || state.next ? recipeToWeigh() : null;
  if (!recipe) {
    record.hidden = true;
    return refill(
      label,
      h("h1", { id: "label-title" }, t("label.title")),
      h("p", {}, t("weigh.no_recipe")),
      h("a", { class: "button", href: "#" }, t("weigh.to_bench")),
    );
  }
  drawLabel(label, recipe);
  return drawRecord(record, recipe);
}

/** The market labels are written for until another is chosen. */
const marketNow = () =>
  state.label?.market ?? (state.wishes.market && state.wishes.market !== "none" ? state.wishes.market : "eu");

function drawLabel(place, recipe) {
  const { materials } = surroundings(state);
  const title = h("h1", { id: "label-title" }, t("label.title"));
  drawFor(place, title, (market) => post("/v1/labels", { recipe, market, materials }));
}

/** Draw the label of a dough of the notebook, with what its record says of it. */
export const drawKeptLabel = (place, id, title) =>
  drawFor(place, title, (market) => get(`/v1/doughs/${id}/label?market=${market}`));

/** Draw a label for the market that is chosen, as it is asked for. */
function drawFor(place, title, asked) {
  const market = marketNow();
  const result = h("div", { class: "label-result", "aria-live": "polite" });
  refill(
    place,
    title,
    select({
      label: t("wishes.market"),
      chosen: market,
      options: MARKETS.filter((one) => one !== "none").map((one) => [one, t(`market.${one}`)]),
      onchoose: (one) => {
        state.label = { market: one };
        keep();
        drawFor(place, title, asked);
      },
    }),
    result,
  );
  ask(result, asked(market));
}

async function ask(result, coming) {
  try {
    refill(result, ...drawn(await coming));
  } catch (error) {
    refill(result, trouble(error));
  }
}

function drawn(answer) {
  return [
    copyable(t("label.list"), answer.text),
    answer.allergens.length ? h("p", {}, t("label.allergens"), " ", answer.allergens.join(", ")) : null,
    cautionList(answer.cautions.filter((one) => !one.standing)),
    folded(
      t("label.beside"),
      list(
        "plain",
        answer.filled.map(({ asks, says }) => says ?? t("label.to_fill", { what: asks })),
      ),
    ),
    folded(
      t("label.duties", { count: answer.remarks.length }),
      list(
        "plain",
        answer.remarks.map(({ text }) => text),
      ),
    ),
    folded(t("cautions.standing", { count: answer.cautions.length }), cautionList(answer.cautions)),
    answer.source ? h("p", { class: "source" }, answer.source) : null,
  ].filter(Boolean);
}

/** A text with a button that copies it. */
export function copyable(title, text) {
  const said = h("span", {}, t("words.copy"));
  const copy = async () => {
    await navigator.clipboard.writeText(text);
    said.textContent = t("words.copied");
  };
  return h(
    "div",
    { class: "copyable" },
    h("h2", {}, title),
    h("p", { class: "copy-text" }, text),
    button(said, copy, { class: "primary" }),
  );
}
