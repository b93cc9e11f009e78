// The one place of the texts that go with a bar: its ingredient list and its batch record.

import { get, post } from "../api.js";
import { button, folded, h, list, refill } from "../dom.js";
import { cautionList } from "../answer/words-part.js";
import { held, select } from "../fields.js";
import { readMass } from "../numbers.js";
import { surroundings } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { MARKETS } from "../bench/wishes.js";
import { recipeToWeigh } from "../weigh/view.js";
import { drawRecord } from "./record.js";
import { trouble } from "../trouble.js";

const PAUSE_MS = 300;

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
  const asked = drawLabel(label, recipe);
  return drawRecord(record, recipe, asked);
}

/** The market labels are written for until another is chosen. */
const marketNow = () =>
  state.label?.market ?? (state.wishes.market && state.wishes.market !== "none" ? state.wishes.market : "eu");

/** What goes on a label besides its list: of the batch, and of the shop, which stays for the next recipe. */
const OF_BATCH = [
  ["net_grams", "decimal"],
  ["best_before", "date"],
];
const OF_SHOP = ["responsible", "contact", "purpose", "precautions"];

/** What was told of the label; what is empty or no number yet is not sent. */
function particulars() {
  const told = {
    batch: state.record.batch,
    net_grams: readMass(state.record.net_grams, state.mass),
    best_before: state.record.best_before,
    ...Object.fromEntries(OF_SHOP.map((name) => [name, state.label?.[name]?.trim()])),
  };
  return Object.fromEntries(Object.entries(told).filter(([, value]) => value));
}

/** Draw the label with the fields that fill it; what is returned asks for it anew a moment later. */
function drawLabel(place, recipe) {
  const { materials } = surroundings(state);
  const title = h("h1", { id: "label-title" }, t("label.title"));
  const fill = h("div", { class: "label-fill" });
  const asked = (market, options) =>
    post("/v1/labels", { recipe, market, materials, particulars: particulars() }, options);
  const again = drawFor(place, title, asked, fill);
  let waiting = 0;
  const later = () => {
    keep();
    clearTimeout(waiting);
    waiting = setTimeout(again, PAUSE_MS);
  };
  const told = (holder, name, more) =>
    held(holder, name, later, { label: t(`label.fill.${name}`), pointer: `/particulars/${name}`, ...more });
  const kinds = { date: { type: "date" }, decimal: { unit: state.mass } };
  refill(
    fill,
    folded(
      t("label.fill.title"),
      h(
        "div",
        { class: "wishes" },
        h("p", {}, t("label.fill.about")),
        h("div", { class: "pair" }, OF_BATCH.map(([name, kind]) => told(state.record, name, kinds[kind]))),
        OF_SHOP.map((name) => told((state.label ??= {}), name, { inputmode: "text" })),
      ),
    ),
  );
  return later;
}

/** Draw the label of a dough of the notebook, with what its record says of it. */
export const drawKeptLabel = (place, id, title) =>
  drawFor(place, title, (market, options) => get(`/v1/doughs/${id}/label?market=${market}`, options));

/** Draw a label for the market that is chosen, as it is asked for; what is returned asks anew. */
function drawFor(place, title, asked, fill = null) {
  const result = h("div", { class: "label-result", "aria-live": "polite" });
  let asking = new AbortController();
  const again = () => {
    asking.abort();
    asking = new AbortController();
    return ask(result, asked(marketNow(), { signal: asking.signal }));
  };
  refill(
    place,
    title,
    select({
      label: t("wishes.market"),
      chosen: marketNow(),
      options: MARKETS.filter((one) => one !== "none").map((one) => [one, t(`market.${one}`)]),
      onchoose: (market) => {
        state.label = { ...state.label, market };
        keep();
        again();
      },
    }),
    fill,
    result,
  );
  again();
  return again;
}

async function ask(result, coming) {
  try {
    refill(result, ...drawn(await coming));
  } catch (error) {
    if (error.name !== "AbortError") refill(result, trouble(error));
  }
}

function drawn(answer) {
  return [
    copyable(t("label.list"), answer.text, [answer.text, ...answer.filled.map(({ says }) => says)]),
    answer.allergens.length ? h("p", {}, t("label.allergens"), " ", answer.allergens.join(", ")) : null,
    cautionList(answer.cautions.filter((one) => !one.standing)),
    h("h2", {}, t("label.beside")),
    list(
      "plain",
      answer.filled.map(({ asks, says }) => says ?? t("label.to_fill", { what: asks })),
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

/** A text with a button that copies it, with what belongs to it. */
function copyable(title, text, whole) {
  const said = h("span", {}, t("words.copy"));
  const copy = async () => {
    await navigator.clipboard.writeText(whole.filter(Boolean).join("\n"));
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
