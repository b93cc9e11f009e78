// The one place of what would teach most next: the small test dough, and the bench test of a powder.

import { post } from "../api.js";
import { button, h, refill } from "../dom.js";
import { finder } from "../finder.js";
import { learn, nameOf } from "../names.js";
import { fromGrams, show, showMass } from "../numbers.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { trouble } from "../trouble.js";
import { learned } from "../window.js";
import { asTyped } from "../writing.js";
import { drawUptakeTest } from "./uptake-test.js";

/** Draw the test dough the notebook proposes, and a way to measure a powder. */
export async function drawTrial(place) {
  const dough = h("div", { class: "trial" });
  const test = h("div", { class: "uptake" });
  refill(
    place,
    h("h2", {}, t("trial.title")),
    dough,
    learned()?.doughs
      ? finder({ label: t("trial.wanted"), onfound: ({ key }) => propose(dough, [key]) }).box
      : null,
    h("h2", {}, t("uptake.title")),
    h("p", {}, t("uptake.about")),
    finder({ label: t("uptake.which"), onfound: (material) => drawUptakeTest(test, material.key) }).box,
    test,
  );
  if (!learned()?.doughs) return refill(dough, h("p", {}, t("notebook.no_doughs")));
  return propose(dough);
}

async function propose(dough, powders) {
  try {
    const answer = await post("/v1/trials", powders ? { powders } : {});
    await learn([...answer.recipe.lines, ...answer.powders].map(({ material }) => material));
    refill(dough, ...drawn(answer));
  } catch (error) {
    refill(dough, trouble(error));
  }
}

function drawn(answer) {
  const { lines, batch_grams: batch } = answer.weighing;
  return [
    h("p", {}, answer.text),
    h(
      "ul",
      { class: "plain" },
      lines.map((line) => h("li", {}, h("strong", {}, showMass(line.grams, state.mass)), " ", nameOf(line.material))),
    ),
    h(
      "ul",
      { class: "plain" },
      [...new Map(answer.recipes.map((recipe) => [recipe.name, recipe])).values()].map((recipe) =>
        h(
          "li",
          {},
          t("trial.surer", {
            name: recipe.name || t("dough.yours"),
            before: show(100 * recipe.sd_before, 1),
            after: show(100 * recipe.sd_after, 1),
          }),
        ),
      ),
      answer.powders.map((powder) =>
        h(
          "li",
          {},
          t("trial.told", {
            name: nameOf(powder.material),
            before: show(100 * powder.sd_before, 1),
            after: show(100 * powder.sd_after, 1),
            usual: show(100 * powder.sd_after_usual, 1),
          }),
        ),
      ),
    ),
    ...answer.notes.map(({ text }) => h("p", {}, text)),
    button(t("next.weigh"), () => weigh(answer.recipe, batch), { class: "primary" }),
  ];
}

function weigh(recipe, batch) {
  state.next = recipe;
  state.weigh = { ...state.weigh, which: "next", batch: asTyped(fromGrams(batch, state.mass)), ticks: {} };
  keep();
  location.hash = "#weigh";
}
