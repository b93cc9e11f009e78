// The one place of what to do before anything is added, and of the questions that matter for this report.

import { h, icon } from "../dom.js";
import { claim, field } from "../fields.js";
import { readNumber, show } from "../numbers.js";
import { state } from "../state.js";
import { t } from "../texts.js";
import { ANSWERED_BY } from "../bench/circumstances.js";

/** Draw what to do before anything is added. */
export function advicePart({ advice }) {
  return advice.length
    ? h(
        "section",
        { class: "part", "aria-labelledby": "first-title" },
        h("h3", { id: "first-title" }, t("first.title")),
        h(
          "ul",
          { class: "advice" },
          advice.map(({ text }) => h("li", {}, icon("hand"), h("p", {}, text))),
        ),
      )
    : null;
}

/** Draw the questions that are still open. */
export function questionsPart({ questions }, bench) {
  return questions.length
    ? h(
        "section",
        { class: "part", "aria-labelledby": "questions-title" },
        h("h3", { id: "questions-title" }, t("first.title_questions")),
        h(
          "div",
          { class: "questions" },
          h("p", {}, t("first.questions")),
          questions.map((question) => asked(question, bench)),
        ),
      )
    : null;
}

function asked({ id, text }, bench) {
  const by = ANSWERED_BY[id];
  if (!by) return h("div", { class: "question" }, h("p", {}, text));
  const tell = (value) => {
    state.report[by.field] = value;
    bench.redraw();
    bench.ask().then(() => document.getElementById("answer-title")?.focus({ preventScroll: true }));
  };
  if (by.options)
    return h(
      "div",
      { class: "question", role: "group", "aria-label": text },
      h("p", {}, text),
      h(
        "div",
        { class: "taps taps-words" },
        by.options.map((value) =>
          h("button", { type: "button", class: "tap", onclick: () => tell(value) }, t(`method.${value}`)),
        ),
      ),
    );
  const { box, input, complain } = field({
    label: t("first.other"),
    hiddenLabel: true,
    unit: by.unit,
    small: true,
    onchange: () => other(),
  });
  claim(`/report/${by.field}`, input, box.querySelector(".complaint"));
  const other = () => {
    const value = readNumber(input.value);
    if (value === null) return;
    if (Number.isNaN(value)) complain(t("dough.no_number"));
    else tell(value);
  };
  return h(
    "div",
    { class: "question", role: "group", "aria-label": text },
    h("p", {}, text),
    h(
      "div",
      { class: "taps" },
      by.taps.map((value) =>
        h(
          "button",
          { type: "button", class: "tap", "aria-label": `${show(value)} ${by.unit}`, onclick: () => tell(value) },
          show(value),
        ),
      ),
      box,
    ),
  );
}
