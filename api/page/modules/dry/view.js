// The one place of the drying bars: the maker's weighings, the curve through them, and when they are dry.

import { post } from "../api.js";
import { h, refill } from "../dom.js";
import { claim, clearComplaints, complain, field, slot } from "../fields.js";
import { readNumber, show as figure, showMass, toGrams } from "../numbers.js";
import { keep, state } from "../state.js";
import { t } from "../texts.js";
import { dryingPicture } from "../pictures/drying.js";
import { trouble } from "../trouble.js";

const PAUSE_MS = 300;
const LEAST_ROWS = 4;
let asking = null;
let waiting = 0;

/** Show the drying of a bar. */
export function show(main) {
  const log = h("section", { class: "step", "aria-labelledby": "dry-title" });
  const result = h("section", { class: "step", "aria-labelledby": "dried-title", hidden: true });
  refill(main, h("div", { class: "narrow" }, log, result));
  drawLog(log, result);
  ask(result);
}

function drawLog(place, result) {
  const { drying } = state;
  while (drying.rows.length < LEAST_ROWS || !blank(drying.rows.at(-1)))
    drying.rows.push({ hours: drying.rows.length ? "" : "0", grams: "" });
  const final = field({
    label: t("dry.final"),
    hint: t("dry.final_hint"),
    unit: state.mass,
    pointer: "/final_grams",
    value: drying.final,
    oninput: (event) => {
      drying.final = event.target.value;
      later(place, result);
    },
  });
  refill(
    place,
    h("h1", { id: "dry-title" }, t("dry.title")),
    h("p", {}, t("dry.about")),
    h(
      "div",
      { class: "log", role: "group", "aria-labelledby": "dry-title" },
      h(
        "p",
        { class: "log-head", "aria-hidden": "true" },
        h("span", {}, t("dry.hours")),
        h("span", {}, t("dry.grams")),
      ),
      drying.rows.map((row, index) => logRow(row, index, place, result)),
    ),
    h(
      "details",
      { class: "more", open: Boolean(drying.final) },
      h("summary", {}, t("dry.more")),
      final.box,
      h(
        "button",
        {
          type: "button",
          class: "quiet",
          onclick: () => {
            state.drying = { rows: [], final: "" };
            keep();
            drawLog(place, result);
            ask(result);
          },
        },
        t("dry.again"),
      ),
    ),
  );
}

const blank = (row) => row.hours === "" && row.grams === "";

function logRow(row, index, place, result) {
  const below = slot();
  const cell = (key) => {
    const input = h("input", {
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      value: row[key],
      "data-cell": `${index}-${key}`,
      "aria-label": t(`dry.${key}_of`, { number: index + 1 }),
      oninput: (event) => {
        row[key] = event.target.value;
        complain(input, below, Number.isNaN(readNumber(input.value)) ? t("dough.no_number") : "");
        later(place, result);
      },
    });
    claim(`/weighings/${index}/${key}`, input, below);
    return h(
      "span",
      { class: "input" },
      input,
      h("span", { class: "unit", "aria-hidden": "true" }, key === "hours" ? "h" : state.mass),
    );
  };
  return h("div", { class: "log-row" }, cell("hours"), cell("grams"), below);
}

function later(place, result) {
  keep();
  if (state.drying.rows.length && !blank(state.drying.rows.at(-1))) {
    const at = /** @type {HTMLElement | null} */ (document.activeElement)?.dataset.cell;
    drawLog(place, result);
    /** @type {HTMLInputElement | null} */
    const again = document.querySelector(`[data-cell="${at}"]`);
    again?.focus();
    again?.setSelectionRange(again.value.length, again.value.length);
  }
  clearTimeout(waiting);
  waiting = setTimeout(() => ask(result), PAUSE_MS);
}

async function ask(result) {
  asking?.abort();
  clearComplaints();
  const places = [];
  const weighings = [];
  state.drying.rows.forEach((row, index) => {
    const [hours, grams] = [readNumber(row.hours), readNumber(row.grams)];
    if (hours === null || grams === null || Number.isNaN(hours) || Number.isNaN(grams)) return;
    places.push(index);
    weighings.push({ hours, grams: toGrams(grams, state.mass) });
  });
  result.hidden = weighings.length < 3;
  if (result.hidden) return;
  const final = readNumber(state.drying.final);
  asking = new AbortController();
  try {
    const answer = await post(
      "/v1/drying",
      { weighings, ...(final ? { final_grams: toGrams(final, state.mass) } : {}) },
      { signal: asking.signal },
    );
    refill(result, ...drawn(answer, weighings));
  } catch (error) {
    if (error.name === "AbortError") return;
    const errors = error.errors?.map((one) => ({
      ...one,
      where: (one.where ?? "").replace(/^\/weighings\/(\d+)/, (_, index) => `/weighings/${places[index] ?? index}`),
    }));
    refill(result, trouble(error, errors));
  }
}

function drawn(answer, weighings) {
  const { typical, low, high } = answer.hours_to_dry;
  return [
    h("h2", { id: "dried-title" }, t("dry.dry_after", { days: figure(typical / 24, 1) })),
    h("p", {}, t("dry.range", { low: figure(low / 24, 1), high: figure(high / 24, 1), hours: figure(typical, 0) })),
    dryingPicture(answer, weighings),
    h(
      "ul",
      { class: "plain" },
      answer.notes.map(({ text }) => h("li", {}, text)),
      answer.cautions.map(({ text }) => h("li", {}, text)),
    ),
    answer.final_grams === null ? null : h("p", {}, t("dry.end", { grams: showMass(answer.final_grams, state.mass) })),
  ].filter(Boolean);
}
