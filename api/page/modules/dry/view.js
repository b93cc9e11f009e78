// Drying bars: the maker's weighings of each, the curve through them, and the days to look forward to.

import { rename, write } from "../address.js";
import { post } from "../api.js";
import { button, folded, h, list, refill } from "../dom.js";
import { choice, claim, clearComplaints, complain, faultOf, field, slot } from "../fields.js";
import { readMass, show as figure, showMass } from "../numbers.js";
import { recipeOf, Unreadable } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { dryingPicture } from "../pictures/drying.js";
import { trouble } from "../trouble.js";
import { undoable } from "../undo.js";
import { emptyBar, isBlank, localNow, madeOn, weighingsOf, withRoom } from "./rows.js";

const PAUSE_MS = 300;
let asking = null;
let waiting = 0;

const bar = () => state.drying.bars[state.drying.bar];

/** Show the drying of the bars. */
export function show(main, [number]) {
  const named = Number(number) - 1;
  if (state.drying.bars[named]) state.drying.bar = named;
  rename(write("dry", state.drying.bar + 1));
  const log = h("section", { class: "step", "aria-labelledby": "dry-title" });
  const result = h("section", { class: "step", "aria-labelledby": "dried-title", hidden: true });
  refill(main, h("div", { class: "plan" }, log, result));
  drawLog(log, result);
  ask(result);
}

function drawLog(place, result) {
  const { drying } = state;
  const again = () => (keep(), drawLog(place, result), ask(result));
  const final = field({
    label: t("dry.final"),
    hint: t("dry.final_hint"),
    unit: state.mass,
    pointer: "/final_grams",
    value: bar().final,
    oninput: (event) => {
      bar().final = event.target.value;
      later(place, result);
    },
  });
  const clear = () => {
    undoable(t("undo.log"), () => (drying.bars[drying.bar] = emptyBar()), again);
    again();
  };
  const now = () => {
    const row = withRoom(bar().rows).find((one) => !one.when && one.grams === "");
    row.when = localNow();
    again();
    /** @type {HTMLElement | null} */
    const grams = document.querySelector(`[data-cell="${bar().rows.indexOf(row)}-grams"]`);
    grams?.focus();
  };
  const key = drying.by === "date" ? "when" : "hours";
  refill(
    place,
    h("h1", { id: "dry-title" }, t("dry.title")),
    h("p", {}, t("dry.about")),
    barChoice(),
    choice({
      label: t("dry.by"),
      hiddenLabel: true,
      chosen: drying.by,
      options: [
        ["date", t("dry.by_date")],
        ["hours", t("dry.by_hours")],
      ],
      onchoose: (by) => {
        drying.by = by;
        again();
      },
    }),
    drying.by === "date" ? button(t("dry.now"), now, { class: "primary" }) : null,
    h(
      "div",
      { class: `log log-${drying.by}`, role: "group", "aria-labelledby": "dry-title" },
      h(
        "p",
        { class: "log-head", "aria-hidden": "true" },
        h("span", {}, t(`dry.${key}`)),
        h("span", {}, t("dry.grams")),
      ),
      withRoom(bar().rows).map((row, index) => logRow(row, index, key, place, result)),
    ),
    folded(t("dry.more"), [final.box, button(t("dry.again"), clear, { class: "quiet" })], {
      open: Boolean(bar().final),
    }),
  );
}

function barChoice() {
  const { drying } = state;
  const open = (place) => (keep(), (location.hash = write("dry", place + 1)));
  const another = () => {
    drying.bars.push(emptyBar());
    open(drying.bars.length - 1);
  };
  return h(
    "div",
    { class: "row" },
    choice({
      label: t("dry.bars"),
      hiddenLabel: true,
      chosen: drying.bar,
      options: drying.bars.map((_, place) => [place, t("dry.bar", { number: place + 1 })]),
      onchoose: open,
    }),
    button(t("dry.another"), another, { class: "quiet" }),
  );
}

function logRow(row, index, key, place, result) {
  const below = slot();
  const cell = (name, unit, type) => {
    const input = h("input", {
      type: type ?? "text",
      inputmode: type ? undefined : "decimal",
      autocomplete: "off",
      value: row[name] ?? "",
      "data-cell": `${index}-${name}`,
      "aria-label": t(`dry.${name}_of`, { number: index + 1 }),
      oninput: (event) => {
        row[name] = event.target.value;
        complain(input, below, type ? "" : faultOf(input.value));
        later(place, result);
      },
    });
    claim(`/weighings/${index}/${name === "when" ? "hours" : name}`, input, below);
    return h(
      "span",
      { class: "input" },
      input,
      unit ? h("span", { class: "unit", "aria-hidden": "true" }, unit) : null,
    );
  };
  const time = key === "when" ? cell("when", "", "datetime-local") : cell("hours", "h");
  return h("div", { class: "log-row" }, time, cell("grams", state.mass), below);
}

function later(place, result) {
  keep();
  if (!isBlank(bar().rows.at(-1))) drawLog(place, result);
  clearTimeout(waiting);
  waiting = setTimeout(() => ask(result), PAUSE_MS);
}

/** The recipe on the bench, where it is whole: it tells what the bar is made of. */
function recipeHere() {
  if (!state.recipe.lines.length) return {};
  try {
    return { recipe: recipeOf(state, {}), ...(state.materials.length ? { materials: state.materials } : {}) };
  } catch (error) {
    if (error instanceof Unreadable) return {};
    throw error;
  }
}

async function ask(result) {
  asking?.abort();
  clearComplaints();
  const { rows, final } = bar();
  const written = weighingsOf(rows, state.drying.by, state.mass);
  result.hidden = written.length < 3;
  if (result.hidden) return;
  const weighings = written.map(({ hours, grams }) => ({ hours, grams }));
  const ended = readMass(final, state.mass);
  const made = madeOn(rows, state.drying.by);
  const body = {
    weighings,
    ...(ended ? { final_grams: ended } : {}),
    ...(made ? { made_on: made } : {}),
    ...(state.report?.room_rh ? { room_rh: state.report.room_rh } : {}),
    ...recipeHere(),
  };
  asking = new AbortController();
  const { signal } = asking;
  if (!result.childElementCount) refill(result, h("p", { role: "status" }, t("dry.asking")));
  result.classList.add("is-stale");
  try {
    const answer = await post("/v1/drying", body, { signal });
    refill(result, ...drawn(answer, weighings, made));
  } catch (error) {
    if (signal.aborted) return;
    const errors = error.errors?.map((one) => ({
      ...one,
      where: (one.where ?? "").replace(
        /^\/weighings\/(\d+)/,
        (_, index) => `/weighings/${written[index]?.place ?? index}`,
      ),
    }));
    refill(result, trouble(error, errors));
  }
  if (!signal.aborted) result.classList.remove("is-stale");
}

function drawn(answer, weighings, made) {
  const { typical, low, high } = answer.hours_to_dry;
  const special = answer.cautions.filter((one) => !one.standing);
  const standing = answer.cautions.filter((one) => one.standing);
  const texts = (items) =>
    list(
      "plain",
      items.map(({ text }) => text),
    );
  return [
    h("h2", { id: "dried-title" }, t("dry.dry_after", { days: figure(typical / 24, 1) })),
    h("p", {}, t("dry.range", { low: figure(low / 24, 1), high: figure(high / 24, 1) })),
    answer.dates ? dates(answer.dates) : null,
    dryingPicture(answer, weighings, made),
    texts([...special, ...answer.notes]),
    answer.final_grams === null ? null : h("p", {}, t("dry.end", { grams: showMass(answer.final_grams, state.mass) })),
    standing.length ? folded(t("cautions.standing", { count: standing.length }), texts(standing)) : null,
  ];
}

/** The days to look forward to. */
function dates({ sell, ...days }) {
  const day = (name, value) => h("div", {}, h("dt", {}, t(`dry.date.${name}`)), h("dd", {}, value));
  return h(
    "dl",
    { class: "facts" },
    Object.entries(days).map(([name, value]) => day(name, value)),
    day("sell", t("dry.date.range", sell)),
  );
}
