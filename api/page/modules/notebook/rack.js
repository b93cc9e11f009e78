// The one place of the rack: every batch that dries, its days, and what is done to it.

import { button, h } from "../dom.js";
import { toGrams } from "../numbers.js";
import { state } from "../state.js";
import { count, t } from "../known.js";
import { offerUndo } from "../undo.js";
import { changeDough } from "./change.js";
import { openForm } from "./form.js";

const DAYS = ["turn", "weigh_next", "handle", "wrap"];

/** Draw the batches. */
export const drawRack = (items, again) =>
  h("ul", { class: "kept-doughs" }, items.map((one) => h("li", { class: "kept-dough" }, batch(one, again))));

function batch(one, again) {
  const { name, weighings, dates } = one;
  const pair = (key, day) => (day ? h("div", {}, h("dt", {}, t(`dry.date.${key}`)), h("dd", {}, day)) : null);
  return h(
    "div",
    { class: "batch" },
    h("h3", {}, name),
    h("p", { class: "source" }, weighings ? count("rack.weighings", weighings) : t("rack.guess")),
    h("dl", { class: "facts" }, DAYS.map((key) => pair(key, dates[key])), pair("sell", t("dry.date.range", dates.sell))),
    h(
      "div",
      { class: "row" },
      button(t("rack.weigh"), () => openWeighed(one, again)),
      button(t("rack.packed"), () => openPacked(one, again)),
    ),
  );
}

const HOURS_A_DAY = 24;
const DAY_MS = 86_400_000;

/** Hours since the day a batch was made: none on that day. */
const hoursSince = (made) => HOURS_A_DAY * Math.max(0, Math.floor((Date.now() - Date.parse(`${made}T00:00`)) / DAY_MS));

/** Write down what a bar of a batch weighs now. */
export function openWeighed({ id, name, made_on: made }, again) {
  openForm(t("rack.weigh"), {
    address: ["weighed", id],
    above: [h("p", {}, h("strong", {}, name), " ", t("rack.weigh_about"))],
    fields: [
      { name: "grams", label: t("dry.grams"), unit: state.mass, pointer: "/drying/grams", needed: true },
      { name: "hours", label: t("dry.hours"), unit: "h", value: String(hoursSince(made)), pointer: "/drying/hours", needed: true },
    ],
    keepIt: ({ hours, grams }) =>
      changeDough(id, ({ drying = [] }) => ({
        drying: [...drying, { hours, grams: toGrams(grams, state.mass) }].sort((a, b) => a.hours - b.hours),
      })),
    again,
  });
}

/** Take a batch off the rack: its bars are packed. */
export function openPacked({ id, name }, again) {
  const back = async () => {
    await changeDough(id, () => ({ bars: null, packed_grams: null }));
    await again();
  };
  openForm(t("rack.packed"), {
    address: ["packed", id],
    above: [h("p", {}, h("strong", {}, name), " ", t("rack.packed_about"))],
    fields: [
      { name: "bars", label: t("plan.part.bars"), needed: true },
      { name: "packed_grams", label: t("rack.all_weigh"), unit: state.mass, needed: true },
    ],
    keepIt: ({ bars, packed_grams: grams }) => changeDough(id, () => ({ bars, packed_grams: toGrams(grams, state.mass) })),
    again: async () => {
      await again();
      offerUndo(t("rack.off", { name }), back);
    },
  });
}
