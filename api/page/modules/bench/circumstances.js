// The one place of the circumstances a dough was judged in: what each is called and how it is given or taken back.

import { button, h, icon } from "../dom.js";
import { state } from "../state.js";
import { t } from "../known.js";

/** Which field of the report answers which question, with values to tap. */
export const ANSWERED_BY = {
  kneaded: { field: "kneaded_minutes", unit: "min", taps: [3, 6, 10] },
  rested: { field: "rested_minutes", unit: "min", taps: [0, 5, 15] },
  "dough-temperature": { field: "dough_c", unit: "°C", taps: [18, 22, 40] },
  "since-the-melt": { field: "minutes_since_melt", unit: "min", taps: [10, 30, 90] },
  "room-humidity": { field: "room_rh", unit: "%", taps: [30, 50, 70] },
  "room-temperature": { field: "room_c", unit: "°C", taps: [16, 20, 26] },
  "dried-days": { field: "dried_days", unit: "d", taps: [2, 7, 14] },
  method: { field: "method", options: ["hand", "mixer", "press"] },
};

const FIELDS = Object.values(ANSWERED_BY);

/** What was told besides the feel, each with a way to take it back. */
export function circumstances(bench) {
  const told = FIELDS.filter(({ field }) => state.report[field] !== undefined && state.report[field] !== null);
  if (!told.length) return null;
  return h(
    "ul",
    { class: "told-list", "aria-label": t("happened.told") },
    told.map(({ field }) => {
      const text = t(`circumstance.${field}`, {
        value: field === "method" ? t(`method.${state.report[field]}`) : state.report[field],
      });
      return h(
        "li",
        {},
        text,
        button(
          icon("cross"),
          () => {
            delete state.report[field];
            bench.redraw();
            bench.changed();
          },
          { class: "icon-button small", "aria-label": t("happened.take_back", { what: text }) },
        ),
      );
    }),
  );
}
