// The one place of cautions, notes and the edition of the rules.

import { h, icon } from "../dom.js";
import { t } from "../texts.js";

/** Draw what must be heeded besides. */
export function wordsPart(answer) {
  return h(
    "section",
    { class: "part", "aria-labelledby": "cautions-title" },
    answer.cautions.length ? h("h3", { id: "cautions-title" }, t("cautions.title")) : null,
    answer.cautions.length
      ? h(
          "ul",
          { class: "cautions" },
          answer.cautions.map(({ text }) => h("li", {}, icon("warn"), h("p", {}, text))),
        )
      : null,
    answer.notes.length
      ? h(
          "ul",
          { class: "plain notes" },
          answer.notes.map(({ text }) => h("li", {}, text)),
        )
      : null,
    h("p", { class: "source" }, t("words.edition", { version: answer.rules_version })),
  );
}
