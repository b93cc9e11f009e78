// Weighing with gloves: one line a screen, a tap anywhere ticks it, and the place is kept.

import { button, h, icon, refill } from "../dom.js";
import { openSheet } from "../dialog.js";
import { showMass } from "../numbers.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { heldBackOf, walk } from "./order.js";
import { openSlip } from "./slip.js";
import { timer } from "./timer.js";

const BOUNCE_MS = 350;

/** Open the sheet as one line a screen, at the first that is not ticked. */
export function openGloves(sheet, recipe) {
  const items = walk(sheet);
  const kept = heldBackOf(sheet);
  const { ticks } = state.weigh;
  const { body } = openSheet(t("gloves.title"), { name: "gloves", address: ["gloves"] });
  const place = h("div", { class: "glove", "aria-live": "polite" });
  body.append(place);
  keepAwake(body);
  const next = () => items.findIndex((item) => !ticks[item.key]);
  draw(next());

  function draw(at) {
    const item = items[at];
    refill(
      place,
      h(
        "p",
        { class: "progress" },
        t("gloves.progress", { at: (item ? at : items.length - 1) + 1, all: items.length }),
      ),
      item ? screen(item, at) : h("p", { class: "glove-all" }, icon("tick"), t("gloves.all")),
      h(
        "div",
        { class: "glove-tools" },
        button(t("gloves.undo"), undo, { disabled: items.every(({ key }) => !ticks[key]) }),
        item?.line ? button(t("slip.open"), () => openSlip(sheet, recipe, item.line.material)) : null,
      ),
    );
    place.querySelector(".glove-screen")?.focus({ preventScroll: true });
  }

  function screen(item, at) {
    const drawn = Date.now();
    const done = () => {
      if (Date.now() - drawn < BOUNCE_MS) return;
      ticks[item.key] = new Date().toISOString();
      keep();
      draw(next());
    };
    const shown = item.line ? lineShown(item.line) : stepShown(item.step);
    const ringing = item.step?.minutes && item.step.minutes < 300 ? timer(item.key, item.step.minutes) : null;
    return [button(shown, done, { class: "glove-screen", "data-at": at }), ringing];
  }

  function stepShown(step) {
    return [h("strong", {}, step.text), h("span", { class: "glove-tap" }, t("gloves.done"))];
  }

  function lineShown(line) {
    return [
      h("span", { class: "glove-figure" }, showMass(line.grams, state.mass)),
      h("strong", {}, line.name),
      h("small", {}, `± ${showMass(line.tolerance_grams, state.mass)}`),
      kept.has(line.material)
        ? h("small", {}, t("weigh.of_it_back", { grams: showMass(kept.get(line.material), state.mass) }))
        : null,
      sheet.premixes.filter((one) => one.material === line.material).map((one) => h("small", {}, one.text)),
      line.warning ? h("small", { class: "glove-warning" }, line.warning) : null,
      h("span", { class: "glove-tap" }, t("gloves.weighed")),
    ];
  }

  /** Take back what was ticked last. */
  function undo() {
    const [last] = items
      .filter(({ key }) => ticks[key])
      .sort((a, b) => String(ticks[b.key]).localeCompare(ticks[a.key]));
    if (last) delete ticks[last.key];
    keep();
    draw(items.indexOf(last));
  }
}

/** Keep the screen on while the sheet is open; say so where the browser does not allow it. */
async function keepAwake(body) {
  const say = () => body.append(h("p", { class: "source" }, t("gloves.sleeps")));
  if (!navigator.wakeLock) return say();
  try {
    const lock = await navigator.wakeLock.request("screen");
    body.closest("dialog")?.addEventListener("close", () => lock.release());
  } catch {
    say();
  }
  return undefined;
}
