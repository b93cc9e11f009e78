// The one place of the next recipe beside the old one, each change with its reason.

import { h, icon } from "../dom.js";
import { nameOf } from "../names.js";
import { show, showChange } from "../numbers.js";
import { keep, state } from "../state.js";
import { t } from "../texts.js";
import { openMissing } from "../missing.js";
import { openSave } from "../notebook/save.js";
import { offers } from "../offers.js";

/** Draw the next recipe. */
export function nextPart(answer, bench) {
  const moved = new Map(answer.changes.map((change) => [change.material, change]));
  const gone = answer.changes.filter((change) => change.after === 0);
  const still = answer.recipe.lines.filter((line) => !moved.has(line.material));
  return h(
    "section",
    { class: "part", "aria-labelledby": "next-title" },
    h("h3", { id: "next-title" }, t(answer.status === "unchanged" ? "next.title_unchanged" : "next.title")),
    moved.size
      ? h(
          "ul",
          { class: "moves" },
          answer.recipe.lines
            .filter((line) => moved.has(line.material))
            .map((line) => move(moved.get(line.material), bench)),
          gone.map((change) => move(change, bench)),
        )
      : null,
    still.length
      ? h(
          "div",
          {},
          moved.size ? h("h4", {}, t("next.still")) : null,
          h(
            "ul",
            { class: "stills" },
            still.map((line) => stillLine(line, bench)),
          ),
        )
      : null,
    answer.hold_back.length
      ? h(
          "p",
          { class: "hold-back" },
          t("next.hold_back"),
          " ",
          answer.hold_back.map((line) => `${show(line.percent)} % ${nameOf(line.material)}`).join(", "),
          ".",
        )
      : null,
    h(
      "div",
      { class: "row" },
      h(
        "button",
        { type: "button", class: "primary", onclick: () => use(answer, "#weigh") },
        icon("scale"),
        t("next.weigh"),
      ),
      h("button", { type: "button", onclick: () => use(answer, "#label") }, t("next.label")),
      h("button", { type: "button", onclick: (event) => copy(answer, event.currentTarget) }, t("next.copy")),
      offers().notebook ? h("button", { type: "button", onclick: () => openSave(answer) }, t("next.save")) : null,
    ),
  );
}

function move(change, bench) {
  const name = nameOf(change.material);
  return h(
    "li",
    { class: `move ${change.change > 0 ? "is-up" : "is-down"}` },
    h(
      "div",
      { class: "move-head" },
      h("strong", {}, name),
      change.after === 0 ? null : missing(change.material, bench),
    ),
    h(
      "p",
      { class: "figures" },
      h("span", { class: "was" }, h("span", { class: "unseen" }, t("next.was")), `${show(change.before)} %`),
      icon("arrow"),
      h("span", { class: "now" }, h("span", { class: "unseen" }, t("next.now")), `${show(change.after)} %`),
      h("span", { class: "by" }, showChange(change.change)),
    ),
    h("p", { class: "why" }, change.why),
    change.why_figures
      ? h("details", { class: "more" }, h("summary", {}, t("next.why_figures")), h("p", {}, change.why_figures))
      : null,
  );
}

const stillLine = (line, bench) =>
  h(
    "li",
    {},
    h("span", {}, nameOf(line.material)),
    h("span", { class: "still-figure" }, `${show(line.percent, 4)} %`),
    missing(line.material, bench),
  );

const missing = (key, bench) =>
  h(
    "button",
    {
      type: "button",
      class: "icon-button",
      "aria-label": t("dough.missing", { name: nameOf(key) }),
      title: t("dough.missing_short"),
      onclick: () => openMissing(key, bench),
    },
    icon("empty-scoop"),
  );

function use(answer, view) {
  state.next = answer.recipe;
  state.weigh.which = "next";
  keep();
  location.hash = view;
}

async function copy(answer, button) {
  const text = answer.recipe.lines.map((line) => `${nameOf(line.material)}\t${show(line.percent, 4)}`).join("\n");
  await navigator.clipboard.writeText(`${answer.recipe.name}\n${text}`);
  button.textContent = t("words.copied");
}
