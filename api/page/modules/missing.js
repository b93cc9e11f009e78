// The one place of a material that is not to be had: what may stand in for it.

import { post } from "./api.js";
import { announce, button, h, refill } from "./dom.js";
import { openSheet } from "./dialog.js";
import { learn, nameOf } from "./names.js";
import { show, showChange } from "./numbers.js";
import { recipeOf, surroundings } from "./request.js";
import { startAgain, state } from "./state.js";
import { t } from "./known.js";
import { asTyped } from "./writing.js";
import { trouble } from "./trouble.js";
import { undoable } from "./undo.js";

/** Look for stand-ins at once; the search shows that it runs and can be stopped. */
export function openMissing(key, bench) {
  const stopping = new AbortController();
  const { body, close } = openSheet(t("missing.title", { name: nameOf(key) }), {
    onclose: () => stopping.abort(),
    address: ["missing", key],
  });
  const place = h("div", { "aria-live": "polite" });
  body.append(place);
  search(place, key, { shelf: state.shelf }, stopping, bench, close);
}

/** @type {(place: any, key: string, tried: { shelf: string[], replacements?: string[] }, ...rest: any) => Promise<void>} */
async function search(place, key, { shelf, replacements }, stopping, bench, close) {
  refill(place, running(t("missing.searching"), stopping));
  try {
    const { materials, wishes, history } = surroundings(state);
    const answer = await post(
      "/v1/substitutions",
      {
        recipe: recipeOf(state, {}),
        missing: key,
        ...(replacements ? { replacements } : {}),
        ...(shelf.length ? { shelf } : {}),
        wishes,
        materials,
        history,
      },
      { signal: stopping.signal },
    );
    await learn(
      answer.options.flatMap((option) =>
        [option.replacement, ...option.recipe.lines.map((line) => line.material)].flat(),
      ),
    );
    refill(place, ...drawn(answer, bench, close));
    announce(t("missing.announce", { count: answer.options.length }));
  } catch (error) {
    if (error.name === "AbortError") refill(place, h("p", {}, t("missing.stopped")));
    else refill(place, trouble(error));
  }
}

const running = (text, stopping, done = undefined) =>
  h(
    "div",
    { class: "running" },
    h("p", {}, text),
    h("progress", { "aria-label": text, ...(done === undefined ? {} : { value: done, max: 1 }) }),
    button(t("words.stop"), () => stopping.abort()),
  );

function drawn(answer, bench, close) {
  return [
    answer.options.length ? null : h("p", { class: "verdict" }, t("missing.none")),
    h(
      "ol",
      { class: "options" },
      answer.options.map((option) => optionItem(option, bench, close)),
    ),
    answer.rejected.length
      ? h(
          "details",
          { class: "more" },
          h("summary", {}, t("missing.rejected", { count: answer.rejected.length })),
          h(
            "ul",
            { class: "plain" },
            answer.rejected.map((one) => h("li", {}, h("strong", {}, nameOf(one.replacement)), ": ", one.reason)),
          ),
        )
      : null,
    ...answer.cautions.map(({ text }) => h("p", { class: "source" }, text)),
  ].filter(Boolean);
}

function optionItem(option, bench, close) {
  const names = [option.replacement].flat().map(nameOf).join(" + ");
  return h(
    "li",
    { class: "option" },
    h("h3", {}, names),
    h(
      "ul",
      { class: "plain pairs" },
      option.changes.map((change) =>
        h(
          "li",
          {},
          h("span", {}, nameOf(change.material)),
          ` ${show(change.before)} → ${show(change.after)} % (${showChange(change.change)})`,
        ),
      ),
    ),
    option.shifts.length
      ? h(
          "ul",
          { class: "shifts" },
          option.shifts.map((shift) =>
            h(
              "li",
              { class: `shift-${shift.direction}` },
              h("span", { class: "tag" }, t(`direction.${shift.direction}`)),
              " ",
              shift.text,
            ),
          ),
        )
      : null,
    button(t("missing.take"), () => take(option, bench, close), { class: "primary" }),
  );
}

async function take(option, bench, close) {
  const before = state.recipe.name || t("dough.yours");
  const stand = [option.replacement].flat().map(nameOf).join(" + ");
  undoable(
    t("undo.stand_in"),
    () =>
      startAgain({
        wishes: state.wishes,
        materials: state.materials,
        shelf: state.shelf.filter((one) => !option.recipe.lines.some((line) => line.material === one)),
        recipe: {
          name: t("missing.named", { name: before, stand }),
          unit: "percent",
          lines: option.recipe.lines.map((line) => ({ key: line.material, amount: asTyped(line.percent), keep: false })),
        },
      }),
    bench.show,
  );
  await close();
  await bench.show();
  bench.open("dough");
}
