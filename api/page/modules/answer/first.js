// What to do before anything is added, and the questions that are open: a chip each, answered in place.

import { button, h, icon, list, part } from "../dom.js";
import { claim, faultOf, field } from "../fields.js";
import { readNumber, show } from "../numbers.js";
import { state } from "../state.js";
import { has, t } from "../known.js";
import { ANSWERED_BY } from "../bench/circumstances.js";

/** A list of things to do by hand. */
export const handList = (items) =>
  items.length
    ? list(
        "advice",
        items.map(({ text }) => [icon("hand"), h("p", {}, text)]),
      )
    : null;

/** Draw what to do before anything is added. */
export const advicePart = ({ advice }) => part("first-title", t("first.title"), handList(advice));

/** Draw the questions that are still open. */
export const questionsPart = ({ questions }, bench) =>
  part(
    "questions-title",
    t("first.title_questions"),
    questions.length
      ? h(
          "div",
          { class: "chips" },
          questions.map((question) => chip(question, bench)),
        )
      : null,
  );

const chip = (question, bench) =>
  h(
    "details",
    { class: "chip", name: "question" },
    h("summary", {}, has(`question.${question.id}`) ? t(`question.${question.id}`) : `${question.text.split(/[?.:]/)[0]}?`),
    asked(question, bench),
  );

function asked({ id, text }, bench) {
  const by = ANSWERED_BY[id];
  const tell = (value) => {
    state.report[by.field] = value;
    bench.redraw();
    bench.ask().then(() => document.getElementById("answer-title")?.focus({ preventScroll: true }));
  };
  return h(
    "div",
    { class: "question", role: "group", "aria-label": text },
    h("p", {}, text),
    by ? h("div", { class: "taps" }, by.options ? named(by, tell) : measured(by, tell)) : null,
  );
}

const named = ({ options }, tell) =>
  options.map((value) => button(t(`method.${value}`), () => tell(value), { class: "tap" }));

function measured(by, tell) {
  const { box, input, complain } = field({
    label: t("first.other"),
    hiddenLabel: true,
    unit: by.unit,
    small: true,
    onchange: () => {
      const value = readNumber(input.value);
      if (Number.isNaN(value)) complain(faultOf(input.value));
      else if (value !== null) tell(value);
    },
  });
  claim(`/report/${by.field}`, input, box.querySelector(".complaint"));
  const taps = by.taps.map((value) =>
    button(show(value), () => tell(value), { class: "tap", "aria-label": `${show(value)} ${by.unit}` }),
  );
  return [...taps, box];
}
