// The one place that puts the conversation together: your dough, what happened, what to do.

import { drawn, rename, write } from "../address.js";
import { h, refill } from "../dom.js";
import { learn } from "../names.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { openLine } from "../answer/next.js";
import { onAnswer } from "../answer/view.js";
import { openMissing } from "../missing.js";
import { openSave } from "../notebook/save.js";
import { openRecipes, openVersions } from "../recipes.js";
import { ask, askNothing } from "./asking.js";
import { openBenchTests } from "./bench-tests.js";
import { drawDough, openOwn } from "./dough.js";
import { drawHappened, reportSaid } from "./happened.js";
import { openPaste, openSamples } from "./openers.js";
import { stopBox } from "../trouble.js";

const STEPS = ["dough", "happened", "answer"];

/** Show the conversation in an element, at the step the address names. */
export async function show(main, [id, step]) {
  const arrived = id === state.id && STEPS.includes(step);
  if (arrived) state.open = step;
  const dough = h("section", { class: "step", id: "dough", "aria-labelledby": "dough-title" });
  const happened = h("section", { class: "step", id: "happened", "aria-labelledby": "happened-title" });
  const answer = h("section", { class: "step answer", id: "answer", "aria-labelledby": "answer-title", hidden: true });
  const title = h("h1", { class: "unseen" }, t("shell.title"));
  const elsewhere = id && id !== state.id ? stopBox(t("recipes.elsewhere"), t("recipes.elsewhere_help")) : null;
  refill(main, title, elsewhere, h("div", { class: "talk" }, h("div", { class: "told" }, dough, happened), answer));

  let asked = Promise.resolve();
  const bench = {
    redraw() {
      drawDough(dough, bench);
      drawHappened(happened, bench);
      keep();
    },
    open(part) {
      state.open = part;
      bench.redraw();
      nameAddress(true);
      if (part === "answer") asked.then(() => bench.goTo(part));
      else bench.goTo(part);
    },
    goTo: (part) => goTo(part === "dough" ? dough : part === "happened" ? happened : answer),
    changed() {
      keep();
      nameTitle();
      nameAddress();
      if (state.report) bench.ask();
      else askNothing(answer);
    },
    ask: () => (asked = ask(answer)),
    async show() {
      await bench.load();
      bench.redraw();
      nameTitle();
      nameAddress();
      if (state.report) await bench.ask();
      else askNothing(answer);
    },
    async load() {
      await learn([...state.recipe.lines.map((line) => line.key).filter(Boolean), ...state.shelf]);
    },
  };
  onAnswer({ bench, answer });
  await bench.show();
  if (arrived && document.activeElement === main) bench.goTo(step);
  return {
    samples: () => openSamples(bench),
    paste: () => openPaste(bench),
    own: (name) => openOwn(bench, name),
    tests: openBenchTests,
    recipes: openRecipes,
    versions: openVersions,
    line: (key) => state.answered && openLine(key, bench),
    missing: (key) => openMissing(key, bench),
    keep: () => state.answered && openSave(state.answered),
  };
}

/** The address names the recipe and the step of the conversation; a new step is one that back returns from. */
export function nameAddress(step = false) {
  if (!state.id) return;
  rename(write("recipe", state.id, state.open), step && drawn().startsWith(write("recipe", state.id)));
}

/** The title of the window names the recipe and what was reported of it. */
function nameTitle() {
  const said = [state.recipe.name, state.report ? reportSaid(state.report) : ""].filter(Boolean).join(": ");
  document.title = said ? `${said} · ${t("shell.name")}` : t("shell.name");
}

/** Bring a part of the conversation into view and let a screen reader read on from there. */
export function goTo(section) {
  if (section.hidden) return;
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  section.scrollIntoView({ behavior: still ? "auto" : "smooth", block: "start" });
  section.querySelector("h2")?.focus({ preventScroll: true });
}
