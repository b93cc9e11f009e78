// The one place of the dough in the bowl: what to add now, in stages.

import { post } from "../api.js";
import { announce, button, folded, h, icon, list, refill } from "../dom.js";
import { field, massChoice } from "../fields.js";
import { learn, nameOf } from "../names.js";
import { takeMass } from "../mass.js";
import { fromGrams, readMass, showMass } from "../numbers.js";
import { bowlOf, surroundings } from "../request.js";
import { keep, state } from "../state.js";
import { feelNamed, t } from "../known.js";
import { asTyped } from "../writing.js";
import { trouble } from "../trouble.js";
import { handList } from "./first.js";

const TAPS = [100, 200, 500, 1000];
let asking = null;

/** Draw the part about the bowl; it asks for grams only where the recipe does not say them. */
export function bowlPart() {
  const result = h("div", { class: "bowl-result", "aria-live": "polite" });
  if (["keep", "in_use"].includes(feelNamed(state.report.feel)?.route)) return null;
  const remember = (event) => {
    state.bowl.open = event.currentTarget.open;
    keep();
  };
  const part = folded(h("strong", {}, t("bowl.title")), [asks(result), result], {
    class: "more part bowl",
    open: Boolean(state.bowl.open),
    ontoggle: remember,
  });
  if (gramsInBowl() !== null) save(result);
  return part;
}

/** What is asked of the bowl; in another unit of mass it is drawn anew. */
function asks(result) {
  const place = h("div", { class: "bowl-asks" });
  const again = () => {
    keep();
    save(result);
  };
  const small = (name, pointer) =>
    field({
      label: t(`bowl.${name}`),
      unit: state.mass,
      small: true,
      pointer,
      value: state.bowl[name],
      onchange: (event) => {
        state.bowl[name] = event.target.value;
        again();
      },
    }).box;
  const draw = () =>
    refill(
      place,
      state.recipe.unit === "percent" ? gramsField(again) : null,
      folded(t("bowl.more"), [
        h("div", { class: "pair" }, small("step", "/balance_step"), small("lost", "/lost_grams")),
        massChoice(
          state.mass,
          (unit) => {
            takeMass(state, unit);
            again();
            draw();
          },
          t("words.mass"),
        ),
      ]),
    );
  draw();
  return place;
}

function gramsField(again) {
  const { box, input } = field({
    label: t("bowl.grams"),
    unit: state.mass,
    pointer: "/recipe",
    value: state.bowl.grams,
    onchange: (event) => {
      state.bowl.grams = event.target.value;
      again();
    },
  });
  const taps = TAPS.map((grams) =>
    button(
      showMass(grams, state.mass),
      () => {
        state.bowl.grams = asTyped(fromGrams(grams, state.mass));
        input.value = state.bowl.grams;
        again();
      },
      { class: "tap" },
    ),
  );
  return h("div", {}, box, state.mass === "g" ? h("div", { class: "taps" }, taps) : null);
}

function gramsInBowl() {
  if (state.recipe.unit !== "percent") return 0;
  const grams = readMass(state.bowl.grams, state.mass);
  return grams && grams > 0 ? grams : null;
}

async function save(result) {
  const grams = gramsInBowl();
  const step = readMass(state.bowl.step, state.mass);
  const lost = readMass(state.bowl.lost, state.mass);
  if (grams === null || !step) return refill(result);
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  try {
    const { shelf, ...rest } = surroundings(state);
    const recipe = bowlOf(state, {}, grams);
    const answer = await post(
      "/v1/additions",
      {
        recipe,
        report: state.report,
        ...rest,
        ...(shelf ? { shelf: [...new Set([...recipe.lines.map((line) => line.material), ...shelf])] } : {}),
        balance_step: step,
        ...(lost ? { lost_grams: lost } : {}),
      },
      { signal },
    );
    await learn(answer.additions.map((line) => line.material));
    if (signal.aborted) return undefined;
    refill(result, ...drawn(answer));
    announce(t("bowl.announce"));
  } catch (error) {
    if (error.name === "AbortError") return undefined;
    refill(result, trouble(error));
  }
  return undefined;
}

function drawn(answer) {
  const why = new Map(answer.additions.map((line) => [line.material, line.why]));
  const shown = new Set([...document.querySelectorAll(".advice p")].map((item) => item.textContent));
  const advice = answer.advice.filter(({ text }) => !shown.has(text));
  return [
    answer.stages.length ? null : h("p", { class: "verdict" }, t("bowl.nothing")),
    h("ol", { class: "stages" }, answer.stages.map(stageItem)),
    why.size
      ? list(
          "reasons",
          [...why].map(([key, text]) => [h("strong", {}, nameOf(key)), " ", text]),
        )
      : null,
    ...answer.shortfalls.map((one) =>
      h(
        "div",
        { class: "box box-warn" },
        icon("warn"),
        h("p", {}, t("bowl.shortfall", { demand: one.demand, by: one.by, unit: one.unit === "1" ? "" : one.unit })),
      ),
    ),
    handList(advice),
  ].filter(Boolean);
}

function stageItem(stage, place) {
  const id = `stage-${place}`;
  return h(
    "li",
    { class: "stage" },
    h(
      "label",
      { class: "tick" },
      h("input", { type: "checkbox", id }),
      h("span", { class: "unseen" }, t("bowl.done", { stage: place + 1 })),
      h(
        "span",
        { class: "stage-lines" },
        stage.map((line) =>
          h(
            "span",
            { class: "stage-line" },
            h("strong", {}, showMass(line.grams, state.mass)),
            " ",
            nameOf(line.material),
          ),
        ),
      ),
    ),
    h("p", {}, t("bowl.stage")),
  );
}
