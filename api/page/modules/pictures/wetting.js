// The one place of the wetting scale, drawn as a rolled thread of dough: it cracks at the dry end and sags at the wet one.

import { folded, h, list, s } from "../dom.js";
import { show } from "../numbers.js";
import { t } from "../known.js";
import { learned } from "../window.js";
import { drawnWidth, figure } from "./figure.js";

const EDGE = 24;
const TOP = 54;
const BOTTOM = 88;
const HEIGHT = 146;
const CHECK = "how wet it is for its powders";
const BAND = BOTTOM - TOP + 32;
const WIDEST = [0.75, 1.35];

/** Draw where the dough was, where the next one is to be, and what is known of the window. */
export function wettingPicture({ answer, body }) {
  const marks = [
    { ...answer.before.consistency, said: "wetting.this" },
    { ...answer.after.consistency, said: "wetting.next" },
  ];
  const target = answer.checks.find((check) => check.name === CHECK);
  const window = body.history ? null : learned(body.report.method);
  const told = words(answer, marks[0].wetness, marks[1].wetness, target);
  return wettingScale(marks, { target, window, told, taught: answer.notes.filter(isTaught) });
}

/** What the doughs of the notebook taught stands folded under the scale; where they contradict each other stays open. */
export const isTaught = ({ id }) => ["doughs-counted", "doughs-best"].includes(id);

/**
 * The scale of every wetness: one mark or two, the stretch that is wanted, the window.
 * @param {any[]} marks each with its wetness and the key of its words
 * @param {{ target?: any, window?: any, told?: string, taught?: any[] }} [more]
 */
export function wettingScale(marks, { target = null, window = learned(), told = "", taught = [] } = {}) {
  const width = drawnWidth();
  const wetness = marks.map((one) => one.wetness);
  if (wetness.some((value) => value === null || value === undefined)) return h("p", {}, t("wetting.none"));
  const [before, after] = wetness;
  const points = [before, after, target?.min, target?.max, window?.low, window?.high].filter(
    (value) => value !== null && value !== undefined,
  );
  const [low, high] = [Math.min(WIDEST[0], ...points) * 0.97, Math.max(WIDEST[1], ...points) * 1.03];
  const x = (value) =>
    EDGE + ((Math.log(value) - Math.log(low)) / (Math.log(high) - Math.log(low))) * (width - 2 * EDGE);
  const said = marks.map((one) => t(one.said, { value: show(one.wetness, 2) }));
  const picture = s(
    "svg",
    { viewBox: `0 0 ${width} ${HEIGHT}`, class: "wetting" },
    window ? band(x, window) : null,
    thread(width),
    target ? wanted(x(target.min ?? low), x(target.max ?? high)) : null,
    mark(x(before), TOP, -1, said[0], "mark-before", width),
    after === undefined ? null : mark(x(after), BOTTOM, 1, said[1], "mark-after", width),
    s("text", { x: EDGE, y: HEIGHT - 2, class: "axis" }, t("wetting.drier")),
    s("text", { x: width - EDGE, y: HEIGHT - 2, class: "axis axis-end" }, t("wetting.wetter")),
  );
  return figure(
    t("wetting.title"),
    picture,
    h("p", { class: "unseen" }, told || said.join(", ")),
    taughtWords(window ? windowWords(window, target ? after : null) : t("wetting.no_window"), taught),
  );
}

function taughtWords(known, taught) {
  const texts = taught.map(({ text }) => text);
  return taught.length ? folded(t("wetting.taught"), list("plain", [known, ...texts])) : h("p", {}, known);
}

function words(answer, before, after, target) {
  const said = t("wetting.words", {
    before: show(before, 2),
    before_word: t(`word.${answer.before.consistency.word}`),
    after: show(after, 2),
    after_word: t(`word.${answer.after.consistency.word}`),
  });
  const wished = target && target.min !== null && target.max !== null;
  return wished ? `${said} ${t("wetting.wanted", { min: show(target.min, 3), max: show(target.max, 3) })}` : said;
}

/** Where doughs work, and why the next one lies elsewhere where it does. */
function windowWords({ low, high, doughs }, after) {
  const kind = doughs ? "own" : "prior";
  const known = t(doughs ? "wetting.window" : "wetting.window_prior", {
    low: show(low, 2),
    high: show(high, 2),
    doughs,
  });
  if (after === null || (after >= low && after <= high)) return known;
  return `${known} ${t("wetting.outside", { what: t(`wetting.outside_of.${kind}`, { doughs }) })}`;
}

function band(x, { low, high, centre }) {
  return s(
    "g",
    { class: "window" },
    s("rect", { x: x(low), y: TOP - 16, width: x(high) - x(low), height: BAND, fill: "url(#texture-window)" }),
    s("path", { d: `M${x(low)} ${TOP - 16}v${BAND}M${x(high)} ${TOP - 16}v${BAND}` }),
    s("path", { d: `M${x(centre)} ${TOP - 16}v${BAND}`, class: "window-centre" }),
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
    [8, 16, 4],
    [15, 6, 3],
    [12, 28, 3.5],
    [4, 30, 2.5],
    [20, 37, 2.5],
  ];
  return s(
    "g",
    { class: "thread" },
    s("path", { d: `M${top.join("L")}L${bottom.join("L")}Z` }),
    crumbs.map(([cx, cy, r]) => s("circle", { cx, cy: TOP + cy, r })),
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
        y: direction < 0 ? tip - 28 : tip + 36,
        "text-anchor": anchor,
      },
      text,
    ),
  );
}
