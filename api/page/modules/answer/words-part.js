// Cautions, notes and the edition of the rules.

import { folded, h, icon, list, part } from "../dom.js";
import { t } from "../known.js";
import { isTaught } from "../pictures/wetting.js";

/** Cautions, a sign before each. */
export const cautionList = (cautions) =>
  list(
    "cautions",
    cautions.map(({ text }) => [icon("warn"), h("p", {}, text)]),
  );

/** Draw what is special to this recipe and must be heeded. */
export function specialPart({ cautions }) {
  const special = cautions.filter(({ standing }) => !standing);
  return part("cautions-title", t("cautions.title"), special.length ? cautionList(special) : null);
}

/** Draw what always holds, folded, with the notes and the edition of the rules. */
export function wordsPart({ cautions, notes, rules_version: version }) {
  const standing = cautions.filter((caution) => caution.standing);
  const said = notes.filter((note) => !isTaught(note));
  return h(
    "section",
    { class: "part part-folds" },
    standing.length
      ? folded(t("cautions.standing", { count: standing.length }), cautionList(standing), { id: "standing" })
      : null,
    said.length
      ? list(
          "plain notes",
          said.map(({ text }) => text),
        )
      : null,
    h("p", { class: "source" }, t("words.edition", { version })),
  );
}
