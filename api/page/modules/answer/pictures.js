// The one place that chooses the pictures of an answer.

import { folded, h } from "../dom.js";
import { show } from "../numbers.js";
import { t } from "../known.js";
import { compositionPicture } from "../pictures/composition.js";

/** Draw the composition before and after, folded. */
export function picturesPart(answer, { recipe }) {
  return folded(
    t("pictures.title"),
    [
      compositionPicture({
        before: inPercent(recipe.lines),
        after: answer.recipe.lines,
        totals: [answer.before.totals, answer.after.totals],
      }),
      chances(answer),
    ].filter(Boolean),
  );
}

function inPercent(lines) {
  const total = lines.reduce((sum, line) => sum + (line.percent ?? line.grams), 0) || 1;
  return lines.map(({ material, percent, grams }) => ({ material, percent: (100 * (percent ?? grams)) / total }));
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
