// The one place of a refusal in plain words: what is wrong where, or which demands exclude each other.

import { button, h, refill } from "../dom.js";
import { learn, nameOf } from "../names.js";
import { show } from "../numbers.js";
import { giveUp } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { checkItem } from "./limits.js";
import { stopBox } from "../trouble.js";

/**
 * Draw a refusal.
 * @param {{ detail: string, problem?: any, homeless: any[] }} refused
 * @param {any} bench
 */
export function refusalPart({ detail, problem, homeless }, bench) {
  return h(
    "div",
    { class: "refusal" },
    stopBox(
      detail,
      ...(problem?.conflict ? [] : homeless).map(({ text }) => text).filter((text) => text && !detail.includes(text)),
    ),
    problem?.nearest_keys?.length ? h("p", {}, t("refusal.nearest_keys"), " ", problem.nearest_keys.join(", ")) : null,
    problem?.conflict?.length
      ? h(
          "section",
          { class: "part" },
          h("h3", {}, t(problem.conflict.length > 1 ? "refusal.conflict" : "refusal.unmet")),
          h(
            "ul",
            { class: "plain" },
            problem.conflict.map((one) =>
              h(
                "li",
                { class: "kept-line" },
                h("span", {}, `${one.demand} ${show(one.value, 3)}${one.unit === "1" ? "" : ` ${one.unit}`}`),
                one.where?.startsWith("/wishes/") ? button(t("refusal.give_up"), () => drop(one, bench)) : null,
              ),
            ),
          ),
        )
      : null,
    problem?.nearest ? nearest(problem.nearest) : null,
  );
}

async function drop(demand, bench) {
  giveUp(state, demand.where);
  bench.redraw();
  await bench.ask();
}

function nearest(found) {
  const list = h("ul", { class: "stills" });
  learn(found.recipe.lines.map((line) => line.material)).then(() =>
    refill(
      list,
      ...found.recipe.lines.map((line) =>
        h(
          "li",
          {},
          h("span", {}, nameOf(line.material)),
          h("span", { class: "still-figure" }, `${show(line.percent, 4)} %`),
        ),
      ),
    ),
  );
  return h(
    "section",
    { class: "part" },
    h("h3", {}, t("refusal.nearest")),
    h(
      "ul",
      { class: "plain" },
      found.bends.map((bend) =>
        h(
          "li",
          {},
          t("refusal.bend", {
            demand: bend.demand,
            by: show(Math.abs(bend.by), 3),
            unit: bend.unit === "1" ? "" : bend.unit,
          }),
        ),
      ),
    ),
    list,
    button(t("next.weigh"), () => {
      state.next = found.recipe;
      keep();
      location.hash = "#weigh";
    }),
    h("ul", { class: "checks" }, found.checks.filter((check) => !check.ok).map(checkItem)),
  );
}
