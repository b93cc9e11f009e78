// The recipes of this device: listed, opened by their address, doubled, saved as a file, taken out.

import { button, h, refill } from "./dom.js";
import { openSheet } from "./dialog.js";
import { listRecipe, recipes, state } from "./state.js";
import { count, t } from "./known.js";
import { offerUndo } from "./undo.js";
import { reportSaid } from "./bench/happened.js";

/** Open the list. */
export function openRecipes() {
  const { body, close } = openSheet(t("recipes.title"));
  const list = h("ul", { class: "choices" });
  const draw = () => refill(list, ...recipes().map((one) => h("li", { class: "option" }, item(one, draw, close))));
  body.append(h("p", {}, t("recipes.about")), list);
  draw();
}

function item(one, draw, close) {
  const { recipe, report } = one.own;
  const name = recipe.name || t("dough.yours");
  const told = [count("dough.lines", recipe.lines.length), report ? reportSaid(report) : "", one.at.slice(0, 10)];
  return [
    h(
      "a",
      { class: "card", href: `#recipe/${one.id}`, onclick: (event) => (event.preventDefault(), open(one.id, close)) },
      h("strong", {}, one.id === state.id ? `${name} (${t("recipes.here")})` : name),
      h("span", {}, told.filter(Boolean).join(" · ")),
    ),
    h(
      "div",
      { class: "row" },
      button(t("recipes.double"), () => (double(one, name), draw())),
      button(t("recipes.file"), () => saveFile(one.own, name)),
      button(t("recipes.out"), () => (takeOut(one, name), draw()), { class: "quiet" }),
    ),
  ];
}

async function open(id, close) {
  await close();
  location.hash = `#recipe/${id}`;
}

function double(one, name) {
  const copy = structuredClone(one);
  Object.assign(copy, { id: `${one.id}-${Date.now().toString(36)}`, at: new Date().toISOString() });
  copy.own.recipe.name = t("recipes.copy_of", { name });
  listRecipe(copy.id, copy);
}

function takeOut(one, name) {
  listRecipe(one.id, null);
  offerUndo(t("undo.line", { name }), () => listRecipe(one.id, one));
}

/** Save a recipe as the request it is: other tools and this page open it. */
function saveFile({ recipe, report, wishes, shelf }, name) {
  const lines = recipe.lines.map((line) => ({
    material: line.key,
    [recipe.unit]: Number(String(line.amount).replace(",", ".")),
  }));
  const request = { recipe: { name: recipe.name, lines }, report: report ?? undefined, wishes, shelf };
  const file = new Blob([JSON.stringify(request, null, 1)], { type: "application/json" });
  const link = h("a", { href: URL.createObjectURL(file), download: `${name}.json` });
  link.click();
}
