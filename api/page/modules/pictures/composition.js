// The one place of what a recipe consists of, before and after, as two ribbons with every line carried over.

import { h, s } from "../dom.js";
import { kindOf, nameOf } from "../names.js";
import { show } from "../numbers.js";
import { t } from "../known.js";
import { drawnWidth, figure } from "./figure.js";
import { fillOf } from "./patterns.js";

const THICK = 40;
const LOWER = 102;
const PARTS = ["powders", "liquids", "water", "oils", "active"];

/** Draw both recipes; lines that stay are joined. */
export function compositionPicture({ before, after, totals }) {
  const width = drawnWidth();
  const keys = [...new Set([...before, ...after].map((line) => line.material))].sort((a, b) => order(a) - order(b));
  const upper = spread(keys, before, width);
  const lower = spread(keys, after, width);
  const picture = s(
    "svg",
    { viewBox: `0 0 ${width} 166`, class: "composition" },
    s("text", { x: 0, y: 12, class: "axis" }, t("composition.before")),
    s("text", { x: 0, y: 162, class: "axis" }, t("composition.after")),
    keys.map((key) => joined(upper.get(key), lower.get(key))),
    keys.map((key) => piece(key, upper.get(key), 18)),
    keys.map((key) => piece(key, lower.get(key), LOWER)),
  );
  const legend = h(
    "ul",
    { class: "legend" },
    [...new Set(keys.map(kindOf))].map((kind) =>
      h(
        "li",
        {},
        s(
          "svg",
          { viewBox: "0 0 24 16", "aria-hidden": "true" },
          s("rect", { width: 24, height: 16, fill: fillOf(kind), class: "slab" }),
        ),
        t(`kind.${kind}`),
      ),
    ),
  );
  return figure(
    t("composition.title"),
    picture,
    legend,
    h(
      "ul",
      { class: "plain pairs" },
      PARTS.filter((part) => totals.some((sums) => sums[part] > 0)).map((part) =>
        h(
          "li",
          {},
          h("span", {}, t(`composition.${part}`)),
          ` ${show(totals[0][part], 1)} → ${show(totals[1][part], 1)} %`,
        ),
      ),
    ),
    dried(totals),
  );
}

const KINDS = ["powder", "fat", "liquid"];
const order = (key) => KINDS.indexOf(kindOf(key));

function spread(keys, lines, whole) {
  const percents = new Map(lines.map((line) => [line.material, line.percent]));
  let left = 0;
  return new Map(
    keys.map((key) => {
      const percent = percents.get(key) ?? 0;
      const place = { left, width: (whole * percent) / 100, percent };
      left += place.width;
      return [key, place];
    }),
  );
}

const joined = (up, down) =>
  s("path", {
    class: Math.abs(up.percent - down.percent) > 0.005 ? "carried carried-moved" : "carried",
    d: `M${up.left} ${18 + THICK}h${up.width}L${down.left + down.width} ${LOWER}h${-down.width}Z`,
  });

function piece(key, { left, width, percent }, y) {
  if (!percent) return null;
  const label =
    width > 42 ? s("text", { x: left + width / 2, y: y + THICK / 2 + 6, class: "piece" }, show(percent, 1)) : null;
  const back = label
    ? s("rect", { x: left + width / 2 - 22, y: y + 9, width: 44, height: 22, rx: 4, class: "piece-back" })
    : null;
  return s(
    "g",
    {},
    s("title", {}, `${nameOf(key)} ${show(percent)} %`),
    s("rect", { x: left, y, width, height: THICK, fill: fillOf(kindOf(key)), class: "slab" }),
    back,
    label,
  );
}

const dried = ([was, now]) =>
  h(
    "p",
    {},
    t("composition.dried", {
      before: show(was.as_dried.mass_left, 1),
      after: show(now.as_dried.mass_left, 1),
      water: show(now.as_dried.water, 1),
      active: show(now.as_dried.active, 1),
    }),
    " ",
    h("span", { class: "tag tag-estimate" }, t("words.estimate")),
  );
