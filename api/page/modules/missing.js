// The one place of a material that is not to be had: what may stand in for it.

import { post } from "./api.js";
import { announce, button, h, refill } from "./dom.js";
import { faultOf, field } from "./fields.js";
import { openSheet } from "./dialog.js";
import { learn, nameOf } from "./names.js";
import { readMass, show, showChange, showMass } from "./numbers.js";
import { batchGrams, recipeOf, surroundings } from "./request.js";
import { startAgain, state } from "./state.js";
import { t } from "./known.js";
import { asTyped } from "./writing.js";
import { trouble } from "./trouble.js";
import { undoable } from "./undo.js";

const PAUSE_MS = 350;

/** Look for stand-ins at once, as for none left; what is left, once told, is kept in the recipe. */
export function openMissing(key, bench) {
  let stopping = new AbortController();
  let waiting = 0;
  const { body, close } = openSheet(t("missing.title", { name: nameOf(key) }), {
    onclose: () => (clearTimeout(waiting), stopping.abort()),
    address: ["missing", key],
  });
  const found = h("div", { "aria-live": "polite" });
  const look = (left) => {
    stopping.abort();
    stopping = new AbortController();
    const place = h("div");
    refill(found, place);
    return search(place, key, left, stopping, bench, close);
  };
  const { box, complain } = field({
    label: t("missing.left"),
    unit: state.mass,
    hint: t("missing.left_hint", { batch: showMass(batchGrams(state), state.mass) }),
    pointer: "/left_grams",
    oninput: (event) => {
      const text = event.target.value;
      complain(faultOf(text));
      clearTimeout(waiting);
      if (!faultOf(text)) waiting = setTimeout(() => look(readMass(text, state.mass)), PAUSE_MS);
    },
  });
  body.append(box, found);
  look(null);
}

/** @type {(place: any, key: string, left: number | null, ...rest: any) => Promise<void>} */
async function search(place, key, left, stopping, bench, close) {
  refill(place, running(t("missing.searching"), stopping));
  try {
    const { materials, wishes, history } = surroundings(state);
    const answer = await post(
      "/v1/substitutions",
      {
        recipe: recipeOf(state, {}),
        missing: key,
        batch_grams: batchGrams(state),
        ...(left ? { left_grams: left } : {}),
        ...(state.shelf.length ? { shelf: state.shelf } : {}),
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
          ` ${show(change.before)} → ${show(change.after)} % (${showChange(change.change)}), `,
          h("strong", {}, showMass(change.grams_after, state.mass)),
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
