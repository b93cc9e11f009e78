// The one place of the wetting scale, drawn as a rolled thread of dough: it cracks at the dry end and sags at the wet one.

import { h, s } from "../dom.js";
import { show } from "../numbers.js";
import { state } from "../state.js";
import { t } from "../texts.js";
import { learned } from "../window.js";
import { drawnWidth, figure } from "./figure.js";

const EDGE = 24;
const TOP = 84;
const BOTTOM = 118;
const WIDEST = [0.75, 1.35];

/** Draw where the dough was, where the next one is to be, and what is known of the window. */
export function wettingPicture(answer) {
  const width = drawnWidth();
  const before = answer.before.consistency.wetness;
  const after = answer.after.consistency.wetness;
  if (before === null || after === null) return h("p", {}, t("wetting.none"));
  const target = answer.checks.find((check) => check.name === "wetting index");
  const window = state.history.length ? null : learned(state.report.method);
  const points = [before, after, target?.min, target?.max, window?.low, window?.high].filter(
    (value) => value !== null && value !== undefined,
  );
  const [low, high] = [Math.min(WIDEST[0], ...points) * 0.97, Math.max(WIDEST[1], ...points) * 1.03];
  const x = (value) =>
    EDGE + ((Math.log(value) - Math.log(low)) / (Math.log(high) - Math.log(low))) * (width - 2 * EDGE);
  const picture = s(
    "svg",
    { viewBox: `0 0 ${width} 200`, class: "wetting" },
    window ? band(x, window) : null,
    thread(width),
    target ? wanted(x(target.min ?? low), x(target.max ?? high)) : null,
    mark(x(before), TOP, -1, t("wetting.this", { value: show(before, 2) }), "mark-before", width),
    mark(x(after), BOTTOM, 1, t("wetting.next", { value: show(after, 2) }), "mark-after", width),
    s("text", { x: EDGE, y: 194, class: "axis" }, t("wetting.drier")),
    s("text", { x: width - EDGE, y: 194, class: "axis axis-end" }, t("wetting.wetter")),
  );
  return figure(
    t("wetting.title"),
    picture,
    h("p", {}, words(answer, before, after, target)),
    h("p", {}, window ? windowWords(window) : t("wetting.no_window")),
  );
}

function words(answer, before, after, target) {
  const said = (word) => t(`word.${word}`);
  const range =
    target && target.min !== null && target.max !== null
      ? ` ${t("wetting.wanted", { min: show(target.min, 3), max: show(target.max, 3) })}`
      : "";
  return (
    t("wetting.words", {
      before: show(before, 2),
      before_word: said(answer.before.consistency.word),
      after: show(after, 2),
      after_word: said(answer.after.consistency.word),
    }) + range
  );
}

const windowWords = (window) =>
  t(window.doughs ? "wetting.window" : "wetting.window_prior", {
    low: show(window.low, 2),
    high: show(window.high, 2),
    centre: show(window.centre, 2),
    doughs: window.doughs,
  });

function band(x, { low, high, centre }) {
  return s(
    "g",
    { class: "window" },
    s("rect", { x: x(low), y: 58, width: x(high) - x(low), height: 86, fill: "url(#texture-window)" }),
    s("path", { d: `M${x(low)} 58v86M${x(high)} 58v86` }),
    s("path", { d: `M${x(centre)} 58v86`, class: "window-centre" }),
  );
}

function thread(width) {
  const middle = width / 2;
  const top = [];
  const bottom = [];
  for (let x = EDGE; x <= width - EDGE; x += 8) {
    const dry = Math.max(0, (middle * 0.8 - x) / (middle * 0.8));
    const wet = Math.max(0, (x - middle * 1.2) / (middle * 0.8));
    const crack = (((x / 8) | 0) % 3 === 0 ? 13 : 0) * dry;
    top.push(`${x} ${TOP + crack + wet * 5}`);
    bottom.unshift(`${x} ${BOTTOM - crack * 0.7 + wet * (7 + 9 * Math.sin(x / 11) ** 2)}`);
  }
  const crumbs = [
    [8, 100, 4],
    [15, 90, 3],
    [12, 112, 3.5],
    [4, 114, 2.5],
    [20, 121, 2.5],
  ];
  return s(
    "g",
    { class: "thread" },
    s("path", { d: `M${top.join("L")}L${bottom.join("L")}Z` }),
    crumbs.map(([cx, cy, r]) => s("circle", { cx, cy, r })),
  );
}

const wanted = (from, to) =>
  s(
    "g",
    { class: "wanted" },
    s("path", { d: `M${from} ${TOP - 7}v${BOTTOM - TOP + 14}M${to} ${TOP - 7}v${BOTTOM - TOP + 14}` }),
    s("rect", { x: from, y: TOP - 7, width: Math.max(to - from, 2), height: BOTTOM - TOP + 14 }),
  );

function mark(x, y, direction, text, name, width) {
  const anchor = x < width * 0.24 ? "start" : x > width * 0.76 ? "end" : "middle";
  const tip = y + direction * 2;
  return s(
    "g",
    { class: name },
    s("path", { d: `M${x} ${tip}l-11 ${direction * 19}h22z` }),
    s(
      "text",
      {
        x: anchor === "start" ? x - 11 : anchor === "end" ? x + 11 : x,
        y: direction < 0 ? tip - 30 : tip + 46,
        "text-anchor": anchor,
      },
      text,
    ),
  );
}
