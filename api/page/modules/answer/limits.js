// The one place of limits: which press, which are broken, and all the others on request.

import { h } from "../dom.js";
import { show } from "../numbers.js";
import { t } from "../texts.js";
import { marketSelect } from "../bench/wishes.js";
import { gauge } from "../pictures/gauge.js";

/** Draw the checks of an answer. */
export function limitsPart(answer, bench) {
  const shown = answer.checks.filter((check) => check.kind !== "total" && (!check.ok || check.binding));
  const rest = answer.checks.filter((check) => check.ok && !check.binding);
  return h(
    "section",
    { class: "part", "aria-labelledby": "limits-title" },
    h("h3", { id: "limits-title" }, t("limits.title")),
    shown.length ? h("ul", { class: "checks" }, shown.map(checkItem)) : h("p", {}, t("limits.none_presses")),
    bench ? marketSelect(bench) : null,
    h(
      "details",
      { class: "more" },
      h("summary", {}, t("limits.all", { count: rest.length })),
      h("ul", { class: "checks checks-rest" }, rest.map(checkItem)),
    ),
    answer.sensitivities?.length
      ? h(
          "details",
          { class: "more" },
          h("summary", {}, t("limits.room")),
          h(
            "ul",
            { class: "plain" },
            answer.sensitivities.map(({ text }) => h("li", {}, text)),
          ),
        )
      : null,
  );
}

export function checkItem(check) {
  const unit = check.unit === "1" ? "" : ` ${check.unit}`;
  const bounds = [
    check.min === null ? null : t("limits.at_least", { value: show(check.min, 3), unit }),
    check.max === null ? null : t("limits.at_most", { value: show(check.max, 3), unit }),
  ]
    .filter(Boolean)
    .join(", ");
  const verdict =
    check.verdict === "depends"
      ? "depends"
      : check.ok
        ? check.binding
          ? "presses"
          : "met"
        : check.kind === "advice"
          ? "beside"
          : "broken";
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

function origin({ kind, source }) {
  return kind === "wish" ? source[0].toUpperCase() + source.slice(1) : `${t(`limits.kind.${kind}`)}: ${source}`;
}
