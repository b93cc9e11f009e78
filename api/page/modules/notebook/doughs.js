// The one place of the doughs that were kept: looked at, judged again, opened, forgotten.

import { get, post } from "../api.js";
import { button, h, list, refill } from "../dom.js";
import { openSheet } from "../dialog.js";
import { keptAs, openRequest } from "../request.js";
import { keep, state } from "../state.js";
import { feelNamed, feels, has, t } from "../known.js";
import { reportSaid } from "../bench/happened.js";
import { drawKeptLabel } from "../label/view.js";
import { loadWindow } from "../window.js";
import { feelPicture } from "../pictures/feels.js";
import { openBarTest, testSaid } from "./bar-test.js";
import { changeDough } from "./change.js";
import { forget } from "./forget.js";
import { trouble } from "../trouble.js";

const PAGE = 20;

/** Draw the doughs, the newest first. */
export async function drawDoughs(place) {
  const all = h("ul", { class: "kept-doughs" });
  const more = h("button", { type: "button", hidden: true }, t("notebook.more"));
  refill(place, all, more);
  let after = "";
  const load = async () => {
    try {
      const { items, next } = await get(`/v1/doughs?newest=true&limit=${PAGE}${after}`);
      if (!items.length && !all.children.length) all.append(h("li", {}, t("notebook.no_doughs")));
      all.append(...items.map((dough) => doughItem(dough, place)));
      more.hidden = next === null;
      after = `&after=${encodeURIComponent(next)}`;
    } catch (error) {
      place.prepend(trouble(error));
    }
  };
  more.addEventListener("click", load);
  await load();
  return { outcome: (id) => judge(id, place), bar: (id) => openBarTest(id, () => drawDoughs(place)) };
}

const feelText = (feel) => (has(`feel.${feel}`) ? t(`feel.${feel}`) : (feelNamed(feel)?.name ?? feel));
const outcomeFeel = (outcome) => (typeof outcome === "string" ? outcome : outcome?.feel);

function doughItem(dough, place) {
  const { report, outcome } = dough;
  const felt = report ? reportSaid(report) : t("notebook.not_judged");
  return h(
    "li",
    { class: "kept-dough" },
    report ? feelPicture(feelNamed(report.feel)?.picture) : null,
    h(
      "div",
      {},
      h("h2", {}, dough.recipe.name || t("dough.yours")),
      h(
        "p",
        {},
        [dough.made_on, felt, outcome ? t("notebook.became", { feel: feelText(outcomeFeel(outcome)) }) : null]
          .filter(Boolean)
          .join(" · "),
      ),
      dough.recipe_key ? h("p", {}, t("notebook.made_of", { key: dough.recipe_key, version: dough.version })) : null,
      dough.bar_tests?.length ? list("plain", dough.bar_tests.map(testSaid)) : null,
      dough.notes ? h("p", { class: "source" }, dough.notes) : null,
    ),
    h(
      "div",
      { class: "row" },
      button(t("notebook.open"), () => open(dough)),
      button(t("notebook.outcome"), () => judge(dough.id, place)),
      button(t("shell.label"), ({ currentTarget }) => showLabel(dough, currentTarget)),
      button(t("bar_test.add"), () => openBarTest(dough.id, () => drawDoughs(place))),
      button(t("notebook.forget"), () => forgetDough(dough, place), { class: "quiet" }),
    ),
  );
}

/** Show the label of a dough under it; a second tap takes it away. */
function showLabel({ id }, opener) {
  const item = opener.closest(".kept-dough");
  const shown = item.querySelector(".kept-label");
  if (shown) return shown.remove();
  const place = h("div", { class: "kept-label" });
  item.append(place);
  return drawKeptLabel(place, id, h("h3", {}, t("label.title")));
}

function open(dough) {
  keep();
  openRequest(state, { recipe: dough.recipe, report: dough.report });
  if (dough.recipe_key) state.kept = keptAs(state, dough.recipe_key, dough.version);
  state.open = dough.report ? "answer" : "happened";
  keep();
  location.hash = "";
}

function judge(id, place) {
  const { body, close } = openSheet(t("notebook.outcome"), { address: ["outcome", id] });
  const answer = async (feel) => {
    try {
      await changeDough(id, () => ({ outcome: feel }));
      await close();
      await loadWindow();
      await drawDoughs(place);
    } catch (error) {
      body.prepend(trouble(error));
    }
  };
  body.append(
    h("p", {}, t("notebook.outcome_about")),
    h(
      "div",
      { class: "feels" },
      feels().map((item) =>
        button([feelPicture(item.picture), h("span", {}, feelText(item.feel))], () => answer(item.feel), {
          class: "feel",
        }),
      ),
    ),
  );
}

async function forgetDough(dough, place) {
  const again = async () => {
    await loadWindow();
    await drawDoughs(place);
  };
  const name = dough.recipe.name || t("dough.yours");
  await forget(`/v1/doughs/${dough.id}`, name, place, again, ({ id: _, ...kept }) => post("/v1/doughs", kept));
}
