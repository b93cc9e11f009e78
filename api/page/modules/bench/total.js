// The one place of the bar that fills while a recipe is written.

import { h, s } from "../dom.js";
import { kindOf } from "../names.js";
import { readNumber, show } from "../numbers.js";
import { state } from "../state.js";
import { t } from "../known.js";
import { fillOf } from "../pictures/patterns.js";

const WIDTH = 600;
const HEIGHT = 26;

/** The bar of the lines entered so far, with the sum in words. */
export function totalBar() {
  const { unit, lines } = state.recipe;
  const amounts = lines.map((line) => ({ key: line.key, amount: Math.max(readNumber(line.amount) || 0, 0) }));
  const total = amounts.reduce((sum, { amount }) => sum + amount, 0);
  const whole = unit === "percent" ? Math.max(total, 100) : total || 1;
  let left = 0;
  const parts = amounts.map(({ key, amount }) => {
    const width = (WIDTH * amount) / whole;
    const part = s("rect", {
      x: left,
      y: 0,
      width,
      height: HEIGHT,
      class: "slab",
      fill: fillOf(key ? kindOf(key) : "unknown"),
    });
    left += width;
    return part;
  });
  const end =
    unit === "percent"
      ? s("line", { x1: (WIDTH * 100) / whole, x2: (WIDTH * 100) / whole, y1: 0, y2: HEIGHT, class: "full-mark" })
      : null;
  return h(
    "div",
    { class: `total ${filled(unit, total)}`, tabindex: "-1" },
    s(
      "svg",
      { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, preserveAspectRatio: "none", "aria-hidden": "true" },
      s("rect", { x: 0, y: 0, width: WIDTH, height: HEIGHT, class: "slab-rest" }),
      parts,
      end,
    ),
    h("p", {}, wording(unit, total)),
  );
}

const filled = (unit, total) => (unit !== "percent" || Math.abs(total - 100) <= 0.05 ? "is-full" : "");

function wording(unit, total) {
  if (unit !== "percent") return t(`dough.total_${unit}`, { total: show(total) });
  const rest = Number((100 - total).toFixed(4));
  if (Math.abs(rest) <= 0.05) return t("dough.total_full", { total: show(total) });
  return t(rest > 0 ? "dough.total_short" : "dough.total_over", { total: show(total), rest: show(Math.abs(rest)) });
}
