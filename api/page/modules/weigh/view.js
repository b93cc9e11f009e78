// The one place of the weigh sheet: what to weigh, ticked off at the balance, and the work in its order.

import { post, Unreachable } from "../api.js";
import { button, h, icon, refill } from "../dom.js";
import { ANSWERED_BY } from "../bench/circumstances.js";
import { choice, clearComplaints, complainAll, faultOf, field, held, massChoice } from "../fields.js";
import { learn } from "../names.js";
import { takeMass } from "../mass.js";
import { fromGrams, readMass, readNumber, showMass } from "../numbers.js";
import { batchGrams, recipeOf, surroundings, Unreadable } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { asTyped } from "../writing.js";
import { openGloves } from "./gloves.js";
import { heldBackOf, stepKey } from "./order.js";
import { openSlip } from "./slip.js";
import { trouble } from "../trouble.js";
import { offerUndo } from "../undo.js";

const STEPS = ["0.01", "0.1", "1"];
const TAPS = [100, 250, 500, 1000];
const METHODS = ANSWERED_BY.method.options;
const PAUSE_MS = 300;
let asking = null;
let waiting = 0;

/** The recipe that is weighed: the next one where there is one, otherwise the one that was entered. */
export function recipeToWeigh() {
  if (state.next && state.weigh.which !== "mine") return state.next;
  try {
    return recipeOf(state, {});
  } catch (error) {
    if (error instanceof Unreadable) return null;
    throw error;
  }
}

/** Show the sheet. */
export async function show(main) {
  const asks = h("section", { class: "step no-print", "aria-labelledby": "weigh-title" });
  const sheet = h("section", { class: "step weigh-sheet", "aria-labelledby": "sheet-title", hidden: true });
  refill(main, h("div", { class: "narrow" }, asks, sheet));
  const recipe = state.recipe.lines.length || state.next ? recipeToWeigh() : null;
  if (!recipe)
    return refill(
      asks,
      h("h1", { id: "weigh-title" }, t("weigh.title")),
      h("p", {}, t("weigh.no_recipe")),
      h("a", { class: "button", href: "#" }, t("weigh.to_bench")),
    );
  await learn(recipe.lines.map((line) => line.material));
  drawAsks(asks, sheet);
  if (state.weigh.sheet) drawSheet(sheet, state.weigh.sheet);
  await ask(sheet);
  return state.weigh.sheet
    ? {
        gloves: () => openGloves(state.weigh.sheet, recipe),
        slip: (key) => openSlip(state.weigh.sheet, recipe, key),
      }
    : {};
}

/** How the batch is worked: as chosen here, else as the dough was that was reported. */
const methodNow = () => state.weigh.method ?? state.report?.method ?? METHODS[0];

function drawAsks(place, sheet) {
  const { weigh } = state;
  const again = () => {
    keep();
    clearTimeout(waiting);
    waiting = setTimeout(() => ask(sheet), PAUSE_MS);
  };
  const redraw = () => (drawAsks(place, sheet), again());
  const batch = field({
    label: t("weigh.batch"),
    unit: state.mass,
    pointer: "/batch_grams",
    value: weigh.batch || fromGrams(batchGrams(state), state.mass),
    oninput: (event) => {
      weigh.batch = event.target.value;
      again();
    },
  });
  refill(
    place,
    h("h1", { id: "weigh-title" }, t("weigh.title")),
    state.next && state.recipe.lines.length
      ? choice({
          label: t("weigh.which"),
          hiddenLabel: true,
          chosen: weigh.which ?? "next",
          options: [
            ["next", t("weigh.next")],
            ["mine", t("weigh.mine")],
          ],
          onchoose: (which) => {
            weigh.which = which;
            weigh.ticks = {};
            redraw();
          },
        })
      : null,
    batch.box,
    h(
      "div",
      { class: "taps" },
      TAPS.map((grams) =>
        button(
          showMass(grams, state.mass),
          () => {
            weigh.batch = asTyped(fromGrams(grams, state.mass));
            batch.input.value = weigh.batch;
            again();
          },
          { class: "tap" },
        ),
      ),
    ),
    choice({
      label: t("weigh.method"),
      chosen: methodNow(),
      options: METHODS.map((method) => [method, t(`method.${method}`)]),
      onchoose: (method) => {
        weigh.method = method;
        redraw();
      },
    }),
    choice({
      label: t("weigh.step"),
      chosen: weigh.step,
      options: STEPS.map((step) => [step, `${step} g`]),
      onchoose: (step) => {
        weigh.step = step;
        redraw();
      },
    }),
    h(
      "details",
      { class: "more", open: Boolean(weigh.bar || weigh.fine) },
      h("summary", {}, t("weigh.more")),
      choice({
        label: t("weigh.fine"),
        chosen: weigh.fine ?? "",
        options: [
          ["", t("weigh.no_fine")],
          ["0.001", "0.001 g"],
          ["0.01", "0.01 g"],
          ["0.1", "0.1 g"],
        ],
        onchoose: (step) => {
          weigh.fine = step;
          redraw();
        },
      }),
      held(weigh, "bar", again, { label: t("weigh.bar"), unit: state.mass, small: true, pointer: "/dried_bar_grams" }),
      massChoice(
        state.mass,
        (unit) => {
          takeMass(state, unit);
          redraw();
          if (weigh.sheet) drawSheet(sheet, weigh.sheet);
        },
        t("words.mass"),
      ),
    ),
  );
}

async function ask(sheet) {
  asking?.abort();
  clearComplaints();
  const { weigh } = state;
  if (Number.isNaN(readNumber(weigh.batch)))
    return complainAll([{ where: "/batch_grams", problem: faultOf(weigh.batch) }]);
  const bar = readMass(weigh.bar, state.mass);
  const { materials } = surroundings(state);
  const body = {
    recipe: recipeToWeigh(),
    batch_grams: batchGrams(state),
    balance_step: Number(weigh.step),
    method: methodNow(),
    ...(weigh.fine ? { fine_balance_step: Number(weigh.fine) } : {}),
    ...(bar ? { dried_bar_grams: bar } : {}),
    ...(state.wishes.market ? { wishes: { market: state.wishes.market } } : {}),
    materials,
  };
  const asked = JSON.stringify(body);
  if (asked === weigh.asked && weigh.sheet) return undefined;
  asking = new AbortController();
  try {
    const answer = await post("/v1/weighings", body, { signal: asking.signal });
    if (asked !== weigh.asked) weigh.ticks = {};
    Object.assign(weigh, { asked, sheet: answer });
    keep();
    drawSheet(sheet, answer);
  } catch (error) {
    if (error.name === "AbortError") return undefined;
    const box = trouble(error);
    sheet.hidden = false;
    if (error instanceof Unreachable) sheet.prepend(box);
    else refill(sheet, box);
  }
  return undefined;
}

/** Whether a note says what to expect of a batch beyond what was learned: it is read before anything is weighed. */
const isNew = ({ id }) => id === "scale-up" || id === "side-test";

/** Whether a caution speaks against a lot: it is spent, out of date or not there yet, which is read before it is weighed. */
const isOfLot = ({ id }) => id.startsWith("lot-");

const warning = (text) => h("p", { class: "box box-warn" }, icon("warn"), h("span", {}, text));

function drawSheet(place, sheet) {
  const { ticks } = state.weigh;
  const kept = heldBackOf(sheet);
  const phases = [...new Set(sheet.lines.map((line) => line.phase))];
  const two = new Set(sheet.lines.map((line) => line.balance)).size > 1;
  const progress = h("p", { class: "progress", role: "status" });
  const count = () => {
    const done = sheet.lines.filter((line) => ticks[line.material]).length;
    progress.textContent = t("weigh.progress", { done, all: sheet.lines.length });
  };
  const tick = (key, checked) => {
    if (checked) ticks[key] = new Date().toISOString();
    else delete ticks[key];
    keep();
    count();
  };
  const line = (one) =>
    h(
      "li",
      {},
      h(
        "label",
        { class: "weigh-line" },
        h("input", {
          type: "checkbox",
          checked: Boolean(ticks[one.material]),
          onchange: (event) => tick(one.material, event.target.checked),
        }),
        h("span", { class: "weigh-figure" }, showMass(one.grams, state.mass)),
        h(
          "span",
          { class: "weigh-name" },
          h("strong", {}, one.name),
          one.lot ? h("small", { translate: "no" }, t("dough.lot", { lot: one.lot })) : null,
          h(
            "small",
            {},
            `± ${showMass(one.tolerance_grams, state.mass)}`,
            two ? `, ${t(`weigh.${one.balance}_balance`)}` : "",
          ),
          kept.has(one.material)
            ? h(
                "small",
                { class: "kept-back" },
                t("weigh.of_it_back", { grams: showMass(kept.get(one.material), state.mass) }),
              )
            : null,
        ),
      ),
      one.warning ? warning(one.warning) : null,
    );
  const step = (one) =>
    h(
      "li",
      {},
      h(
        "label",
        { class: "work-step" },
        h("input", {
          type: "checkbox",
          checked: Boolean(ticks[stepKey(one)]),
          onchange: (event) => tick(stepKey(one), event.target.checked),
        }),
        h(
          "span",
          {},
          one.phase ? h("span", { class: "tag" }, one.phase) : null,
          one.phase ? " " : null,
          one.text,
          one.minutes && one.minutes < 300 ? h("small", {}, ` ${t("weigh.minutes", { minutes: one.minutes })}`) : null,
        ),
      ),
    );
  place.hidden = false;
  refill(
    place,
    h(
      "div",
      { class: "sheet-title" },
      h("h2", { id: "sheet-title" }, sheet.name || t("dough.yours")),
      h("p", {}, t("weigh.total", { grams: showMass(sheet.total_grams, state.mass) })),
    ),
    h("p", { class: "only-print" }, printHead()),
    sheet.notes.filter(isNew).map(({ text }) => h("p", { class: "hold-back" }, text)),
    sheet.cautions.filter(isOfLot).map(({ text }) => warning(text)),
    progress,
    button(t("gloves.open"), () => openGloves(sheet, recipeToWeigh()), { class: "primary no-print" }),
    h(
      "div",
      { class: "weigh-phases" },
      phases.map((phase) =>
        h(
          "section",
          {},
          h("h3", {}, t("weigh.phase", { phase })),
          h("ul", { class: "weigh-lines" }, sheet.lines.filter((one) => one.phase === phase).map(line)),
        ),
      ),
    ),
    sheet.premixes.length
      ? h(
          "section",
          {},
          h("h3", {}, t("weigh.premixes")),
          h(
            "ul",
            { class: "plain" },
            sheet.premixes.map((one) => h("li", {}, one.text)),
          ),
        )
      : null,
    sheet.fill
      ? h(
          "p",
          { class: "hold-back" },
          t("weigh.fill", {
            bars: sheet.fill.bars,
            grams: showMass(sheet.fill.dough_grams_per_bar.typical, state.mass),
            low: showMass(sheet.fill.dough_grams_per_bar.low, state.mass),
            high: showMass(sheet.fill.dough_grams_per_bar.high, state.mass),
          }),
        )
      : null,
    h("section", {}, h("h3", {}, t("weigh.steps")), h("ol", { class: "work-steps" }, sheet.steps.map(step))),
    ...sheet.checks
      .filter((check) => !check.ok && check.kind !== "advice")
      .map((check) =>
        h(
          "p",
          { class: "box box-stop" },
          icon("stop"),
          h(
            "span",
            {},
            t("weigh.broken", { name: check.name, value: check.value, unit: check.unit === "1" ? "" : check.unit }),
          ),
        ),
      ),
    h(
      "ul",
      { class: "plain sheet-cautions" },
      [...sheet.notes.filter((note) => !isNew(note)), ...sheet.cautions.filter((one) => !isOfLot(one))].map(({ text }) => h("li", {}, text)),
    ),
    h(
      "div",
      { class: "row no-print" },
      button(t("weigh.print"), () => print()),
      button(t("slip.open"), () => openSlip(sheet, recipeToWeigh())),
      button(t("weigh.untick"), () => clearTicks(place, sheet)),
    ),
  );
  count();
}

/** What a printed sheet must say of its batch; what is not known is a line to write on. */
function printHead() {
  const { batch, made_on: made } = state.record;
  const market = t(`market.${state.wishes.market ?? "none"}`);
  return t("weigh.print_head", { batch: batch || "________", made: made || "________", market });
}

function clearTicks(place, sheet) {
  const before = state.weigh.ticks;
  const set = (ticks) => {
    state.weigh.ticks = ticks;
    keep();
    drawSheet(place, sheet);
  };
  set({});
  offerUndo(t("undo.ticks"), () => set(before));
}
