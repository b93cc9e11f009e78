// What surrounds a corrected recipe: looked at, compared, costed, planned, drafted, reworked; each with an address.

import { get, post } from "../api.js";
import { button, focusOn, folded, h, list, refill } from "../dom.js";
import { clearComplaints } from "../fields.js";
import { learn, remember } from "../names.js";
import { keep, state } from "../state.js";
import { count, offers, t } from "../known.js";
import { goTo } from "../bench/view.js";
import { drawRack, openPacked, openWeighed } from "../notebook/rack.js";
import { wettingScale } from "../pictures/wetting.js";
import { trouble } from "../trouble.js";
import { drawFolded, drawPart } from "./answer.js";
import { bodyOf } from "./body.js";
import { paid, paidBefore } from "./costed.js";
import { choosable, drawForm, valuesOf } from "./form.js";
import { TASKS } from "./tasks.js";

let asking = null;
/** @type {any[]} */
let held = [];

/** Show the task the address names. */
export async function show(main, [named]) {
  const offered = Object.keys(TASKS).filter((one) => offers().notebook || !TASKS[one].reads);
  const name = offered.includes(named) ? named : "look";
  const task = TASKS[name];
  const form = h("section", { class: "step", "aria-labelledby": "plan-title" });
  const result = h("section", { class: "step", hidden: true, "aria-live": "polite", "aria-label": t("plan.answer") });
  refill(main, h("div", { class: "plan" }, form, result));
  document.title = `${t(`plan.task.${name}`)} · ${t("shell.name")}`;
  await learn([...state.recipe.lines.map((line) => line.key).filter(Boolean), ...state.shelf]);
  const values = ((state.plan ??= {})[name] ??= {});
  const stale = () => {
    result.classList.add("is-stale");
    result.inert = true;
  };
  const wanted = task.fields.filter(({ kind, needed }) => kind === "recipe" && needed).length;
  const there = choosable().length;
  refill(
    form,
    h("h1", { id: "plan-title" }, t("plan.title")),
    h(
      "nav",
      { class: "segments-row", "aria-label": t("plan.tasks") },
      offered.map((one) =>
        h(
          "a",
          { class: "button", href: `#plan/${one}`, "aria-current": one === name ? "page" : null },
          t(`plan.task.${one}`),
        ),
      ),
    ),
    h("p", {}, t(`plan.about.${name}`)),
    ...(there < wanted
      ? [h("p", {}, t(there ? "plan.one_recipe" : "weigh.no_recipe")), h("a", { class: "button", href: "#" }, t("weigh.to_bench"))]
      : [
          ...drawForm(task, values, stale),
          task.reads ? null : button(t("plan.ask"), () => ask(task, values, result), { class: "primary" }),
        ]),
  );
  form.querySelector("nav [aria-current]").scrollIntoView({ inline: "center", block: "nearest" });
  if (!task.reads) return {};
  const again = () => ask(task, values, result);
  await again();
  const about = (id) => ({ id, name: "", made_on: "", ...held.find((one) => one.id === id) });
  return { weighed: (id) => openWeighed(about(id), again), packed: (id) => openPacked(about(id), again) };
}

async function ask(task, values, result) {
  const again = () => ask(task, values, result);
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  clearComplaints();
  keep();
  result.setAttribute("aria-busy", "true");
  try {
    const answer = task.reads
      ? await get(task.path, { signal })
      : await post(task.path, bodyWith(task, values), { signal });
    await learn(keysIn(answer));
    if (signal.aborted) return;
    if (task.priced) paid(answer.lines);
    if (task.batches) held = answer[task.batches];
    refill(result, ...drawn(task, answer, again));
  } catch (error) {
    if (signal.aborted) return;
    refill(result, trouble(error), task.reads ? button(t("words.again"), again) : null);
  }
  result.hidden = false;
  if (!task.reads) goTo(result);
  result.classList.remove("is-stale");
  result.inert = false;
  result.setAttribute("aria-busy", "false");
}

/** What a bar without a name is called where something is made of it: by its day, with a number beside others of that day. */
function barOfToday() {
  const day = t("plan.bar_of", { day: new Date().toLocaleDateString("sv") });
  const others = state.materials.filter(({ name }) => name.includes(day)).length;
  return others ? `${day}, ${others + 1}` : day;
}

function bodyWith(task, values) {
  const body = bodyOf(task.fields, valuesOf(task, values));
  if (task.takes && !body.recipe?.name) body.recipe = { ...body.recipe, name: barOfToday() };
  const materials = state.materials.length ? { materials: state.materials } : {};
  return { ...body, ...materials, ...(task.priced ? { earlier_prices: paidBefore(body.recipe) } : {}) };
}

/** Beyond so many the notes of an answer are one line that opens. */
const NOTES_AT_ONCE = 2;

function drawn(task, answer, again) {
  const notes = answer.notes ?? [];
  const said = [...(answer.cautions ?? []).filter((one) => !one.standing), ...notes.slice(0, NOTES_AT_ONCE)];
  const more = notes.slice(NOTES_AT_ONCE);
  const standing = (answer.cautions ?? []).filter((one) => one.standing);
  const texts = (items) =>
    list(
      "plain",
      items.map(({ text }) => text),
    );
  return [
    h("h2", {}, t("plan.answer")),
    ...(task.nothing && task.shown.every((name) => !answer[name]?.length) ? nothing(task) : []),
    task.scale ? wettingScale(task.scale.map(([path, said]) => ({ ...at(answer, path), said }))) : null,
    ...task.shown.map((name) => {
      const shown = at(answer, name);
      if (name === task.batches) return drawRack(shown, again);
      if (task.money?.includes(name)) return drawPart(name, costs(shown), answer.currency);
      return drawPart(name, shown, at(answer, task.units?.[name] ?? ""));
    }),
    task.takes && answer.material ? taking(answer.material) : null,
    said.length ? texts(said) : null,
    more.length ? folded(count("plan.notes", more.length), texts(more)) : null,
    task.priced && notes.some(({ id }) => id === "first-guess") ? button(t("plan.enter_prices"), openPrices) : null,
    ...(task.folded ?? []).map((name) => drawFolded(name, at(answer, name))),
    standing.length ? drawFolded(count("plan.standing", standing.length), standing) : null,
  ];
}

/** What is said where the notebook keeps nothing yet, and the way to where it begins. */
const nothing = (task) => [
  h("p", {}, t(task.nothing)),
  h("a", { class: "button", href: task.begins }, t(`${task.nothing}_go`)),
];

/** Open the fields of what was paid, at the first. */
function openPrices() {
  document.querySelector(".prices")?.setAttribute("open", "");
  focusOn(".prices input");
}

/** The sums that are paid; what costs nothing is left out. */
const costs = (sums) =>
  typeof sums === "object" && sums
    ? Object.fromEntries(Object.entries(sums).filter(([name, sum]) => sum || name === "total"))
    : sums;

/** What lies at a path of an answer. */
const at = (answer, path) => path.split(".").reduce((found, step) => found?.[step], answer);

/** What the answer made becomes a line of the recipe on the bench, which waits for its amount. */
const taking = (material) =>
  button(
    t("plan.take"),
    () => {
      const { lines } = state.recipe;
      state.materials = [...state.materials.filter((one) => one.key !== material.key), material];
      if (!lines.some((line) => line.key === material.key)) lines.push({ key: material.key, amount: "", keep: false });
      state.open = "dough";
      remember(material);
      keep();
      location.hash = "#";
    },
    { class: "primary" },
  );

/** Every key of a material that an answer names. */
function keysIn(value) {
  if (Array.isArray(value)) return value.flatMap(keysIn);
  if (value === null || typeof value !== "object") return [];
  return Object.entries(value).flatMap(([name, one]) =>
    name === "material" && typeof one === "string" ? [one] : keysIn(one),
  );
}
