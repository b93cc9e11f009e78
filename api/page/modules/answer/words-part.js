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

/** Draw what is special to this recipe and must be heeded. */
export function specialPart({ cautions }) {
  const special = cautions.filter(({ standing }) => !standing);
  return special.length
    ? h(
        "section",
        { class: "part", "aria-labelledby": "cautions-title" },
        h("h3", { id: "cautions-title" }, t("cautions.title")),
        cautionList(special),
      )
    : null;
}

/** Draw what always holds, folded, with the notes and the edition of the rules. */
export function wordsPart(answer) {
  const standing = answer.cautions.filter((caution) => caution.standing);
  return h(
    "section",
    { class: "part" },
    standing.length
      ? h(
          "details",
          { class: "more", id: "standing" },
          h("summary", {}, t("cautions.standing", { count: standing.length })),
          cautionList(standing),
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
