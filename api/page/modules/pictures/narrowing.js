// The one place of the window as it narrows from dough to dough.

import { h, s } from "../dom.js";
import { show } from "../numbers.js";
import { t } from "../known.js";
import { drawnWidth, figure } from "./figure.js";

const [HEIGHT, LEFT, RIGHT, TOP, FLOOR] = [280, 56, 20, 20, 46];

/** Draw the centre and its interval after each of the steps. */
export function narrowingPicture(steps, now) {
  const width = drawnWidth();
  const [least, most] = [Math.min(...steps.map((step) => step.low)), Math.max(...steps.map((step) => step.high))];
  const [low, high] = [Math.log(least * 0.95), Math.log(most * 1.05)];
  const last = steps.at(-1).count || 1;
  const shown = steps.length > 1 ? steps : [steps[0], { ...steps[0], count: 1 }];
  const x = (count) => LEFT + (count / last) * (width - LEFT - RIGHT);
  const y = (wetness) => TOP + ((high - Math.log(wetness)) / (high - low)) * (HEIGHT - TOP - FLOOR);
  const edge = (end) => shown.map((step) => `${x(step.count)} ${y(step[end])}`);
  const marks = [least, now.centre, most];
  const picture = s(
    "svg",
    { viewBox: `0 0 ${width} ${HEIGHT}`, class: "narrowing" },
    s("path", { d: `M${edge("high").join("L")}L${edge("low").reverse().join("L")}Z`, fill: "url(#texture-window)" }),
    s("path", { d: `M${edge("high").join("L")}M${edge("low").join("L")}`, class: "curve-bound", fill: "none" }),
    s("path", { d: `M${edge("centre").join("L")}`, class: "curve-line" }),
    steps.map((step) => s("circle", { cx: x(step.count), cy: y(step.centre), r: 6, class: "curve-point" })),
    s("path", { d: `M${LEFT} ${TOP}V${HEIGHT - FLOOR}H${width - RIGHT}`, class: "curve-axis", fill: "none" }),
    marks.map((wetness) => s("text", { x: LEFT - 8, y: y(wetness) + 5, class: "axis axis-end" }, show(wetness, 2))),
    [0, last].map((count) =>
      s("text", { x: x(count), y: HEIGHT - FLOOR + 24, class: "axis", "text-anchor": count ? "end" : "start" }, count),
    ),
    s("text", { x: (LEFT + width) / 2, y: HEIGHT - 4, class: "axis", "text-anchor": "middle" }, t("narrowing.axis")),
  );
  const first = steps[0];
  return figure(
    t("narrowing.title"),
    picture,
    h(
      "p",
      {},
      t("narrowing.words", {
        first_low: show(first.low, 2),
        first_high: show(first.high, 2),
        doughs: steps.at(-1).count,
        low: show(now.low, 2),
        high: show(now.high, 2),
        centre: show(now.centre, 2),
      }),
    ),
  );
}
