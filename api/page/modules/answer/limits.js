// Limits: what is broken stands open, what holds is one line until it is asked for.

import { folded, h, list } from "../dom.js";
import { show } from "../numbers.js";
import { t } from "../known.js";
import { marketSelect } from "../bench/wishes.js";
import { gauge } from "../pictures/gauge.js";

/** Draw the checks of an answer. */
export function limitsPart(answer, bench) {
  const checks = answer.checks.filter((check) => check.kind !== "total");
  const broken = checks.filter((check) => !check.ok && check.kind !== "advice");
  const rest = checks.filter((check) => !broken.includes(check));
  const beside = rest.filter((check) => !check.ok).length;
  const weight = (check) => (check.ok ? (check.binding ? 1 : 0) : 2);
  const holding = t("limits.all", { count: rest.length - beside });
  const summary = beside ? `${holding}, ${t("limits.beside_count", { count: beside })}` : holding;
  return h(
    "section",
    { class: "part part-folds" },
    broken.length ? h("ul", { class: "checks" }, broken.map(checkItem)) : null,
    folded(
      summary,
      [
        bench ? marketSelect(bench) : null,
        h("ul", { class: "checks checks-rest" }, rest.sort((a, b) => weight(b) - weight(a)).map(checkItem)),
      ].filter(Boolean),
    ),
    answer.sensitivities?.length
      ? folded(
          t("limits.room"),
          list(
            "plain",
            answer.sensitivities.map(({ text }) => text),
          ),
        )
      : null,
  );
}

/** One check: its name, how it stands, its figure between its bounds, where it comes from. */
export function checkItem(check) {
  const unit = check.unit === "1" ? "" : ` ${check.unit}`;
  const bound = (end, figure) => (figure === null ? null : t(`limits.${end}`, { value: show(figure, 3), unit }));
  const bounds = [bound("at_least", check.min), bound("at_most", check.max)].filter(Boolean).join(", ");
  const verdict = verdictOf(check);
  return h(
    "li",
    { class: `check check-${verdict}` },
    h(
      "p",
      { class: "check-head" },
      h("strong", {}, check.name),
      " ",
      h("span", { class: "tag" }, t(`limits.${verdict}`)),
      " ",
      check.state === "as_dried" ? h("span", { class: "tag" }, t("limits.as_dried")) : null,
      " ",
      check.basis === "estimate" ? h("span", { class: "tag tag-estimate" }, t("words.estimate")) : null,
    ),
    gauge(check),
    h("p", {}, `${show(check.value, 3)}${unit}`, bounds ? `: ${bounds}` : ""),
    check.source ? h("p", { class: "source" }, origin(check)) : null,
  );
}

function verdictOf(check) {
  if (check.verdict === "depends") return "depends";
  if (check.ok) return check.binding ? "presses" : "met";
  return check.kind === "advice" ? "beside" : "broken";
}

function origin({ kind, source }) {
  return kind === "wish" ? source[0].toUpperCase() + source.slice(1) : `${t(`limits.kind.${kind}`)}: ${source}`;
}
