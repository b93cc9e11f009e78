// The one place that chooses the pictures of an answer.

import { h } from "../dom.js";
import { readNumber, show } from "../numbers.js";
import { t } from "../texts.js";
import { state } from "../state.js";
import { compositionPicture } from "../pictures/composition.js";
import { wettingPicture } from "../pictures/wetting.js";

/** Draw where the dough lay and where the next one will lie. */
export const scalePart = (answer) => h("div", { class: "part" }, wettingPicture(answer));

/** Draw the composition before and after, folded. */
export function picturesPart(answer) {
  return h(
    "details",
    { class: "more" },
    h("summary", {}, t("pictures.title")),
    compositionPicture({
      before: before(),
      after: answer.recipe.lines,
      totals: [answer.before.totals, answer.after.totals],
    }),
    chances(answer),
  );
}

function before() {
  const amounts = state.recipe.lines.map((line) => ({ material: line.key, amount: readNumber(line.amount) || 0 }));
  const total = amounts.reduce((sum, line) => sum + line.amount, 0) || 1;
  return amounts.map(({ material, amount }) => ({ material, percent: (100 * amount) / total }));
}

function chances(answer) {
  const [was, now] = [answer.before.consistency.chance_workable, answer.after.consistency.chance_workable];
  if (was === null || now === null || answer.after.consistency.basis !== "own") return null;
  return h(
    "p",
    { class: "chances" },
    t("pictures.chances", { before: show(100 * was, 0), after: show(100 * now, 0) }),
    " ",
    h("span", { class: "tag tag-estimate" }, t(`words.basis.${answer.after.consistency.basis}`)),
  );
}
