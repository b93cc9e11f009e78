// The one place of the second part of the conversation: what happened to the dough.

import { button, focusOn, h, isDesk, refill } from "../dom.js";
import { choice, claim, slot } from "../fields.js";
import { state } from "../state.js";
import { degreeNamed, degrees, feelNamed, feels, has, signs, t } from "../known.js";
import { feelPicture } from "../pictures/feels.js";
import { openBenchTests } from "./bench-tests.js";
import { circumstances } from "./circumstances.js";

const USUAL_DEGREE = "clear";
const feelText = (item) => (has(`feel.${item.feel}`) ? t(`feel.${item.feel}`) : item.name);

/** What was reported, in few words: "Too wet, clearly". */
export function reportSaid({ feel, degree }) {
  const item = feelNamed(feel) ?? { feel, name: feel };
  return `${feelText(item)}${item.asks_degree ? `, ${degreeNamed(degree ?? USUAL_DEGREE)?.name ?? degree}` : ""}`;
}

/** Draw the questions about the dough, or the one sentence they came to. */
export function drawHappened(place, bench) {
  place.hidden = state.recipe.lines.length === 0 || (state.open === "dough" && !state.report);
  if (place.hidden) return;
  if (state.report && state.open === "answer" && !isDesk()) return refill(place, summary(bench));
  refill(
    place,
    h("h2", { id: "happened-title", tabindex: "-1" }, t("happened.title")),
    feelButtons(bench),
    ...(state.report ? details(bench) : []),
    button(t("happened.tests"), openBenchTests, { class: "quiet" }),
    state.report ? button(t("happened.next"), () => bench.open("answer"), { class: "primary only-narrow" }) : null,
  );
}

function summary(bench) {
  const seen = state.report.signs;
  const texts = signs()
    .filter((sign) => seen.includes(sign.sign))
    .map((sign) => sign.text);
  return h(
    "div",
    { class: "said" },
    h(
      "div",
      {},
      h("h2", { id: "happened-title", tabindex: "-1" }, reportSaid(state.report)),
      texts.length ? h("p", {}, texts.join(", ")) : null,
    ),
    button(
      [t("words.change"), h("span", { class: "unseen" }, ` ${t("happened.title")}`)],
      () => bench.open("happened"),
      { class: "quiet" },
    ),
    circumstances(bench),
  );
}

function feelButtons(bench) {
  const sorted = [...feels()].sort((a, b) => a.order - b.order);
  const below = slot();
  const group = h(
    "div",
    { class: "feels", role: "group", "aria-labelledby": "happened-title" },
    sorted.map((item) =>
      button([feelPicture(item.picture), h("span", {}, feelText(item))], () => choose(item.feel, bench), {
        class: "feel",
        "data-feel": item.feel,
        "aria-pressed": String(state.report?.feel === item.feel),
      }),
    ),
  );
  claim("/report", group, below);
  return [group, below];
}

/** Whether a bar in use is spoken of: the signs of a dough say nothing of it. */
const isInUse = (feel) => feelNamed(feel)?.route === "in_use";

function choose(feel, bench) {
  state.report = { degree: "clear", signs: [], ...state.report, feel };
  if (isInUse(feel)) state.report.signs = [];
  bench.redraw();
  focusOn(`[data-feel="${feel}"]`, { preventScroll: true });
  bench.changed();
}

function details(bench) {
  const { feel, degree, signs: seen } = state.report;
  const again = () => {
    bench.redraw();
    bench.changed();
  };
  return [
    h("p", { class: "meaning" }, feelNamed(feel)?.meaning),
    !feelNamed(feel)?.asks_degree
      ? null
      : choice({
          label: t("happened.how"),
          chosen: degree,
          options: degrees().map((item) => [item.degree, item.name]),
          onchoose: (value) => {
            state.report.degree = value;
            again();
          },
        }),
    isInUse(feel) ? null : signButtons(seen, bench),
    circumstances(bench),
  ];
}

const signButtons = (seen, bench) =>
  h(
    "div",
    { class: "signs", role: "group", "aria-labelledby": "signs-title" },
    h("p", { id: "signs-title", class: "choice-label" }, t("happened.signs")),
    h(
      "div",
      { class: "signs-row" },
      signs().map((item) =>
        button(item.text, (event) => toggle(item.sign, event.currentTarget, bench), {
          class: "sign",
          "data-sign": item.sign,
          "aria-pressed": String(seen.includes(item.sign)),
        }),
      ),
    ),
  );

function toggle(sign, button, bench) {
  const on = !state.report.signs.includes(sign);
  state.report.signs = on ? [...state.report.signs, sign] : state.report.signs.filter((one) => one !== sign);
  button.setAttribute("aria-pressed", String(on));
  bench.changed();
}
