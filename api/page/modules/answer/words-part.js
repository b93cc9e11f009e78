// The one place of cautions, notes and the edition of the rules.

import { h, icon } from "../dom.js";
import { t } from "../texts.js";

const cautionList = (cautions) =>
  cautions.length
    ? h(
        "ul",
        { class: "cautions" },
        cautions.map(({ text }) => h("li", {}, icon("warn"), h("p", {}, text))),
      )
    : null;

/** Draw what must be heeded besides. */
export function wordsPart(answer) {
  const standing = answer.cautions.filter((caution) => caution.standing);
  return h(
    "section",
    { class: "part", "aria-labelledby": "cautions-title" },
    answer.cautions.length ? h("h3", { id: "cautions-title" }, t("cautions.title")) : null,
    cautionList(answer.cautions.filter(({ standing }) => !standing)),
    standing.length ? h("details", {}, h("summary", {}, t("cautions.standing")), cautionList(standing)) : null,
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
