// The recipes of this device: listed, opened by their address, doubled, saved as a file, taken out.

import { get, getTagged, Problem, put } from "./api.js";
import { button, h, list, refill } from "./dom.js";
import { openSheet } from "./dialog.js";
import { keep, listRecipe, recipes, startAgain, state } from "./state.js";
import { count, feelNamed, t } from "./known.js";
import { field } from "./fields.js";
import { learn, nameOf } from "./names.js";
import { showChange } from "./numbers.js";
import { asTyped } from "./writing.js";
import { amountOf, keptAs, openRequest, recipeOf } from "./request.js";
import { trouble } from "./trouble.js";
import { offerUndo, undoable } from "./undo.js";
import { versionTestSaid } from "./notebook/bar-test.js";
import { reportSaid } from "./bench/happened.js";

/** Open the list. */
export function openRecipes() {
  const { body, close } = openSheet(t("recipes.title"), { address: ["recipes"] });
  const all = h("ul", { class: "choices" });
  const draw = () => refill(all, ...recipes().map((one) => h("li", { class: "option" }, item(one, draw, close))));
  body.append(h("p", {}, t("recipes.about")), all);
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

/** Show the versions the notebook keeps of the recipe on the bench, newest first, and offer to keep it as the next. */
export async function openVersions() {
  const name = state.recipe.name || t("dough.yours");
  const { body, close } = openSheet(t("recipes.versions_of", { name }), { address: ["versions"] });
  const opened = async ({ key, version, recipe }) => {
    const take = () => {
      openRequest(state, { recipe });
      state.kept = keptAs(state, key, version);
      keep();
    };
    await close();
    undoable(t("undo.opened"), take, () => (location.hash = "#bench"));
    location.hash = "#bench";
  };
  const place = h("div", { class: "versions", "aria-live": "polite" });
  const note = field({ label: t("recipes.note"), inputmode: "text", pointer: "/note" });
  const path = `/v1/recipes/${keyOf(name)}`;
  const draw = async () => {
    const { items } = await get(`${path}/versions`).catch(nothingYet);
    await learn(items.flatMap(({ recipe }) => recipe.lines.map((line) => line.material)));
    refill(place, list("plain", [...items].reverse().map((item) => versionSaid(item, opened))));
  };
  const keepNext = async () => {
    try {
      const { tag } = await getTagged(path).catch((error) => ({ tag: nothingYet(error).tag }));
      const next = { recipe: recipeOf(state, {}), note: note.input.value.trim() || null };
      const kept = await put(path, next, tag ? { "If-Match": tag } : { "If-None-Match": "*" });
      state.kept = keptAs(state, kept.key, kept.version);
      keep();
      note.input.value = "";
      await draw();
    } catch (error) {
      refill(place, trouble(error));
    }
  };
  body.append(h("p", {}, t("recipes.versions_about")), note.box, button(t("recipes.keep"), keepNext, { class: "primary" }), place);
  await draw().catch((error) => refill(place, trouble(error)));
}

/** A recipe the notebook does not know yet has no versions; anything else is a fault. */
function nothingYet(error) {
  if (error instanceof Problem && error.code === "not-found") return { items: [], tag: null };
  throw error;
}

function versionSaid(kept, opened) {
  const { version, kept_on: day, changes, doughs, note, bar_tests: tests } = kept;
  const moved = changes.map((one) => `${nameOf(one.material)} ${showChange(one.change)} %`).join(", ");
  const made = doughs
    .map((one) => `${one.made_on ?? ""} ${one.feel ? feelNamed(one.feel)?.name.toLowerCase() : ""}`.trim())
    .join(", ");
  return [
    h("strong", {}, t("recipes.version", { version, day })),
    " ",
    [moved, made, ...tests.map(versionTestSaid), note].filter(Boolean).join(" · "),
    " ",
    button(t("notebook.open"), () => opened(kept), {
      class: "quiet",
      "aria-label": t("recipes.open_version", { version }),
    }),
  ];
}

/** The key of a recipe's name: what the notebook files it under. */
const keyOf = (name) =>
  name
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-|-$/g, "")
    .slice(0, 64) || "recipe";

/** Put a recipe of an answer on the bench; what was there is in the list, and comes back by one tap. */
export function takeOver({ name, lines }, more = {}, to = "#bench") {
  const own = lines.map(({ material, percent }) => ({ key: material, amount: asTyped(percent), keep: false }));
  const [before, { materials }] = [location.hash, state];
  const open = () => startAgain({ recipe: { name, unit: "percent", lines: own }, materials, ...more });
  location.hash = to;
  undoable(t("undo.opened"), open, () => (location.hash = before));
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
    [recipe.unit === "percent" ? "percent" : "grams"]: amountOf(line, recipe.unit),
  }));
  const request = { recipe: { name: recipe.name, lines }, report: report ?? undefined, wishes, shelf };
  const file = new Blob([JSON.stringify(request, null, 1)], { type: "application/json" });
  const link = h("a", { href: URL.createObjectURL(file), download: `${name}.json` });
  link.click();
}
