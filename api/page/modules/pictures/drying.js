// The one place of the drying curve: the weighings, the fitted curve with its band, and when the bar is dry.

import { h, s } from "../dom.js";
import { show, showMass } from "../numbers.js";
import { state } from "../state.js";
import { t } from "../known.js";
import { monthDay } from "../writing.js";
import { drawnWidth, figure } from "./figure.js";

const [HEIGHT, LEFT, RIGHT, TOP, FLOOR] = [320, 64, 16, 16, 44];
const STEPS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

/** Draw the drying of a bar. */
export function dryingPicture({ curve, hours_to_dry: dry, final_grams: final }, weighings, made) {
  const width = drawnWidth();
  const points = [...curve, ...weighings];
  const banded = curve.filter((point) => point.low !== null && point.low !== undefined);
  const end = Math.max(...points.map((point) => point.hours), dry.high);
  const masses = [...points.map((point) => point.grams), ...banded.flatMap(({ low, high }) => [low, high])];
  const [least, most] = [Math.min(...masses, final ?? Infinity), Math.max(...masses)];
  const room = (most - least || 1) * 0.08;
  const x = (hours) => LEFT + (hours / end) * (width - LEFT - RIGHT);
  const y = (grams) => TOP + ((most + room - grams) / (most - least + 2 * room)) * (HEIGHT - TOP - FLOOR);
  const edge = (bound) => banded.map((point) => `${x(point.hours)} ${y(point[bound])}`);
  const path = curve.map((point) => `${x(point.hours)} ${y(point.grams)}`).join("L");
  const picture = s(
    "svg",
    { viewBox: `0 0 ${width} ${HEIGHT}`, class: "drying" },
    s("rect", {
      x: x(dry.low),
      y: TOP,
      width: Math.max(x(dry.high) - x(dry.low), 2),
      height: HEIGHT - TOP - FLOOR,
      fill: "url(#texture-window)",
    }),
    s("path", { d: `M${x(dry.typical)} ${TOP}V${HEIGHT - FLOOR}`, class: "curve-dry" }),
    s("path", { d: `M${LEFT} ${TOP}V${HEIGHT - FLOOR}H${width - RIGHT}`, class: "curve-axis", fill: "none" }),
    ticks(end / 24, 5).map((days) =>
      s(
        "g",
        {},
        s("path", { d: `M${x(days * 24)} ${HEIGHT - FLOOR}v6`, class: "curve-axis" }),
        s(
          "text",
          { x: x(days * 24), y: HEIGHT - FLOOR + 24, class: "axis", "text-anchor": "middle" },
          made ? dayOf(made, days) : days,
        ),
      ),
    ),
    s("text", { x: width - RIGHT, y: HEIGHT - 2, class: "axis axis-end" }, t(made ? "drying.dates" : "drying.days")),
    [most, least].map((grams) =>
      s("text", { x: LEFT - 8, y: y(grams) + 5, class: "axis axis-end" }, showMass(grams, state.mass)),
    ),
    banded.length
      ? s("path", { d: `M${edge("high").join("L")}L${edge("low").reverse().join("L")}Z`, class: "curve-band" })
      : null,
    s("path", { d: `M${path}`, class: "curve-line" }),
    weighings.map((point) => s("circle", { cx: x(point.hours), cy: y(point.grams), r: 6, class: "curve-point" })),
  );
  const words = weighings
    .map((point) => `${show(point.hours / 24, 1)} d ${showMass(point.grams, state.mass)}`)
    .join(", ");
  return figure(
    t("drying.title"),
    picture,
    h(
      "p",
      {},
      t("drying.words", {
        weighings: words,
        typical: show(dry.typical / 24, 1),
        low: show(dry.low / 24, 1),
        high: show(dry.high / 24, 1),
      }),
    ),
  );
}

/** The day so many days after another, without its year. */
function dayOf(made, days) {
  const day = new Date(`${made}T12:00Z`);
  day.setUTCDate(day.getUTCDate() + days);
  return monthDay(day.toISOString().slice(0, 10));
}

function ticks(end, most) {
  const step = STEPS.find((size) => end / size <= most) ?? STEPS.at(-1);
  return Array.from({ length: Math.floor(end / step) + 1 }, (_, index) => index * step);
}
