// The one place of the batch record: what is written down of one batch, and what is still missing.

import { post } from "../api.js";
import { button, folded, h, list, refill } from "../dom.js";
import { clearComplaints, held } from "../fields.js";
import { learn, nameOf } from "../names.js";
import { fromGrams, readMass, readNumber, show, showChange } from "../numbers.js";
import { batchGrams, surroundings } from "../request.js";
import { keep, state } from "../state.js";
import { count, t } from "../known.js";
import { weighingsOf } from "../dry/rows.js";
import { trouble } from "../trouble.js";
import { written } from "../writing.js";

const PAUSE_MS = 300;
const TEXTS = ["product", "batch", "made_by", "checked_by", "equipment"];
let asking = null;
let waiting = 0;

/** Draw the record with its fields; changed is told of each besides, as the label takes what the record says. */
export async function drawRecord(place, recipe, changed) {
  await learn(recipe.lines.map((line) => line.material));
  const { record } = state;
  const result = h("div", { class: "record-result" });
  const later = () => {
    keep();
    changed();
    clearTimeout(waiting);
    waiting = setTimeout(() => ask(result, recipe), PAUSE_MS);
  };
  const told = (name, more = {}) => held(record, name, later, { label: t(`record.${name}`), pointer: `/${name}`, ...more });
  const text = (name) => told(name, { inputmode: "text" });
  const batch = { label: t("weigh.batch"), unit: state.mass, pointer: "/batch_grams" };
  refill(
    place,
    h("h2", { id: "record-title" }, t("record.title")),
    h("p", {}, t("record.about")),
    held(state.weigh, "batch", later, { ...batch, value: fromGrams(batchGrams(state), state.mass) }),
    h("div", { class: "pair" }, text("batch"), told("made_on", { type: "date" })),
    folded(
      t("record.more"),
      h(
        "div",
        { class: "wishes" },
        TEXTS.filter((name) => name !== "batch").map(text),
        told("ph", { hint: t("record.ph_hint") }),
        h("h3", {}, t("record.lines")),
        recipe.lines.map((line) => weighedRow(line.material, record, later)),
      ),
    ),
    result,
  );
  ask(result, recipe);
}

function weighedRow(key, record, later) {
  const [lots, weighed] = [(record.lots ??= {}), (record.weighed ??= {})];
  const name = nameOf(key);
  return h(
    "div",
    { class: "pair" },
    held(lots, key, later, { label: t("record.lot", { name }), inputmode: "text", pointer: `/lots/${key}` }),
    held(weighed, key, later, { label: t("record.weighed", { name }), unit: state.mass, pointer: `/weighed/${key}` }),
  );
}

async function ask(result, recipe) {
  asking?.abort();
  clearComplaints();
  const record = state.record;
  const batch = batchGrams(state);
  const filled = (values, read) =>
    Object.fromEntries(
      Object.entries(values ?? {})
        .map(([key, value]) => [key, read(value)])
        .filter(([, value]) => value !== null && value !== "" && !Number.isNaN(value)),
    );
  const [lots, weighed] = [
    filled(record.lots, (value) => value.trim()),
    filled(record.weighed, (value) => readMass(value, state.mass)),
  ];
  const ph = readNumber(record.ph);
  const { bar, bars, by } = state.drying;
  const drying = weighingsOf(bars[bar].rows, by, state.mass).map(({ hours, grams }) => ({ hours, grams }));
  asking = new AbortController();
  try {
    const answer = await post(
      "/v1/batch-records",
      {
        recipe,
        batch_grams: batch,
        ...Object.fromEntries([...TEXTS, "made_on"].filter((name) => record[name]).map((name) => [name, record[name]])),
        ...(Object.keys(lots).length ? { lots } : {}),
        ...(Object.keys(weighed).length ? { weighed } : {}),
        ...(ph ? { ph: [{ ph, at_percent: 10 }] } : {}),
        ...(state.report ? { report: state.report } : {}),
        ...(drying.length ? { drying } : {}),
        materials: surroundings(state).materials,
      },
      { signal: asking.signal },
    );
    refill(result, ...drawn(answer));
  } catch (error) {
    if (error.name === "AbortError") return undefined;
    refill(result, trouble(error));
  }
  return undefined;
}

const texts = (items) =>
  list(
    "plain",
    items.map(({ text }) => text),
  );

const massOf = (grams) => show(fromGrams(grams, state.mass), 3);

function drawn(answer) {
  const said = h("span", {}, t("record.copy"));
  const copy = async () => {
    await navigator.clipboard.writeText(written(asText(answer)));
    said.textContent = t("words.copied");
  };
  return [
    h(
      "table",
      { class: "record-lines" },
      h("caption", { class: "unseen" }, t("record.lines")),
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          h("th", { scope: "col" }, t("record.material")),
          h("th", { scope: "col" }, t("record.planned", { unit: state.mass })),
          h("th", { scope: "col" }, t("record.weighed_short", { unit: state.mass })),
        ),
      ),
      h(
        "tbody",
        {},
        answer.lines.map((line) =>
          h(
            "tr",
            {},
            h("th", { scope: "row" }, line.name, line.lot ? h("small", { translate: "no" }, ` ${line.lot}`) : null),
            h("td", {}, massOf(line.planned_grams)),
            h(
              "td",
              {},
              line.weighed_grams === null ? "–" : massOf(line.weighed_grams),
              line.weighed_grams === null ? null : h("small", {}, ` ${showChange(line.deviation_percent)} %`),
              h("small", {}, ` ${tickedAt(line.material)}`),
            ),
          ),
        ),
      ),
    ),
    button(said, copy, { class: "primary" }),
    answer.missing.length ? folded(count("record.missing", answer.missing.length), texts(answer.missing)) : null,
    texts([...answer.remarks, ...answer.preservation, ...answer.notes]),
  ].filter(Boolean);
}

/** When a line was ticked off at the balance; empty where it was not. */
function tickedAt(material) {
  const moment = new Date(state.weigh.ticks[material] ?? Number.NaN);
  return Number.isNaN(moment.getTime()) ? "" : moment.toTimeString().slice(0, 5);
}

function asText({ record, lines, missing, remarks, preservation }) {
  const head = [
    ["product", record.product],
    ["batch", record.batch],
    ["made_on", record.made_on],
    ["made_by", record.made_by],
    ["checked_by", record.checked_by],
    ["equipment", record.equipment],
  ]
    .filter(([, value]) => value)
    .map(([name, value]) => `${t(`record.${name}`)}: ${value}`);
  const body = lines.map((line) =>
    [
      line.name,
      line.lot ?? "",
      massOf(line.planned_grams),
      line.weighed_grams === null ? "" : massOf(line.weighed_grams),
      tickedAt(line.material),
    ].join("\t"),
  );
  const rest = [...remarks, ...preservation].map(({ text }) => text);
  return [
    record.recipe.name,
    ...head,
    "",
    [
      t("record.material"),
      t("record.lot_short"),
      t("record.planned", { unit: state.mass }),
      t("record.weighed_short", { unit: state.mass }),
      t("record.ticked"),
    ].join("\t"),
    ...body,
    "",
    ...rest,
    ...(missing.length ? ["", `${t("record.missing_of")}:`, ...missing.map(({ text }) => `- ${text}`)] : []),
  ].join("\n");
}
