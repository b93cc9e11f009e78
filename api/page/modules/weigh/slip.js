// The one place of a slip of the scoop: more in the bowl than the sheet says.

import { post } from "../api.js";
import { button, h, icon, refill } from "../dom.js";
import { openSheet } from "../dialog.js";
import { choice, faultOf, field, select } from "../fields.js";
import { nameOf } from "../names.js";
import { readMass, show, showMass } from "../numbers.js";
import { surroundings } from "../request.js";
import { state } from "../state.js";
import { t } from "../known.js";
import { checkItem } from "../answer/limits.js";
import { trouble } from "../trouble.js";

/** Ask what went wrong and show both ways out. */
export function openSlip(sheet, recipe, first = sheet.lines[0].material) {
  const { body } = openSheet(t("slip.title"), { address: ["slip", first] });
  const slip = { material: first, mixed: true };
  const result = h("div", { class: "slip-result", "aria-live": "polite" });
  const grams = field({ label: t("slip.grams"), unit: state.mass, pointer: `/weighed` });
  const planned = () => sheet.lines.find((line) => line.material === slip.material).grams;
  const hint = h("p", { class: "hint" }, t("slip.planned", { grams: showMass(planned(), state.mass) }));
  const mixed = h("div", {});
  const drawMixed = () =>
    refill(
      mixed,
      choice({
        label: t("slip.mixed"),
        chosen: String(slip.mixed),
        options: [
          ["true", t("slip.yes")],
          ["false", t("slip.no")],
        ],
        onchoose: (value) => {
          slip.mixed = value === "true";
          drawMixed();
        },
      }),
    );
  drawMixed();
  body.append(
    select({
      label: t("slip.which"),
      chosen: slip.material,
      options: sheet.lines.map((line) => [line.material, line.name]),
      onchoose: (material) => {
        slip.material = material;
        hint.textContent = t("slip.planned", { grams: showMass(planned(), state.mass) });
      },
    }),
    grams.box,
    hint,
    mixed,
    h("p", { class: "hint" }, t("slip.ticked")),
    button(t("slip.ask"), ask, { class: "primary" }),
    result,
  );

  async function ask() {
    const value = readMass(grams.input.value, state.mass);
    grams.complain(value === null ? t("dough.no_amount") : faultOf(grams.input.value));
    if (!value) return;
    const ticked = sheet.lines
      .filter((line) => state.weigh.ticks[line.material])
      .map((line) => [line.material, line.grams]);
    const { materials, shelf } = surroundings(state);
    try {
      const answer = await post("/v1/recoveries", {
        recipe,
        batch_grams: sheet.batch_grams,
        weighed: { ...Object.fromEntries(ticked), [slip.material]: value },
        mixed: slip.mixed,
        balance_step: Number(state.weigh.step),
        wishes: state.wishes,
        shelf,
        materials,
      });
      refill(result, ...drawn(answer));
    } catch (error) {
      refill(result, trouble(error));
    }
  }
}

function drawn(answer) {
  const taken = answer.take_out?.length
    ? h(
        "p",
        { class: "verdict" },
        t("slip.take_out", {
          what: answer.take_out
            .map((line) => `${showMass(line.grams, state.mass)} ${nameOf(line.material)}`)
            .join(", "),
        }),
      )
    : null;
  return [
    taken,
    answer.advice?.length
      ? h(
          "ul",
          { class: "advice" },
          answer.advice.map(({ text }) => h("li", {}, icon("hand"), h("p", {}, text))),
        )
      : null,
    way("smallest", answer.smallest),
    way("exact", answer.exact),
  ].filter(Boolean);
}

function way(kind, found) {
  return h(
    "section",
    { class: "option" },
    h("h3", {}, t(`slip.${kind}`)),
    found.additions.length
      ? h(
          "ul",
          { class: "plain" },
          found.additions.map((line) =>
            h("li", {}, h("strong", {}, showMass(line.grams, state.mass)), " ", nameOf(line.material)),
          ),
        )
      : h("p", {}, t("slip.nothing")),
    h("p", {}, t("slip.batch", { grams: showMass(found.batch_grams, state.mass) })),
    (found.shortfalls ?? []).map((one) =>
      h(
        "div",
        { class: "box box-warn" },
        icon("warn"),
        h(
          "p",
          {},
          t("bowl.shortfall", { demand: one.demand, by: show(one.by, 3), unit: one.unit === "1" ? "" : one.unit }),
        ),
      ),
    ),
    h("ul", { class: "checks" }, found.checks.filter((check) => !check.ok && check.kind !== "advice").map(checkItem)),
  );
}
