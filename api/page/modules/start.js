// The one place that starts the page and shows what the address names: a view, and the sheets over it.

import { drawn, read } from "./address.js";
import { get } from "./api.js";
import { sheetsOpen } from "./dialog.js";
import { keepFocus, refill } from "./dom.js";
import { know, t } from "./known.js";
import { shell } from "./shell.js";
import { followOtherTabs, openRecipe } from "./state.js";
import { loadWindow } from "./window.js";
import { leaveUndo } from "./undo.js";
import { writeAs } from "./writing.js";
import { nameAddress, show as bench } from "./bench/view.js";
import { show as dry } from "./dry/view.js";
import { show as label } from "./label/view.js";
import { show as notebook } from "./notebook/view.js";
import { show as plan } from "./plan/view.js";
import { show as weigh } from "./weigh/view.js";

/** Every view draws itself into an element, and returns how each of its sheets is opened. */
const VIEWS = { bench, weigh, dry, label, plan, notebook };

async function start() {
  const place = document.getElementById("app");
  const known = await get(document.documentElement.dataset.start);
  know(known);
  writeAs(known.writing, navigator.language);
  await loadWindow();
  const main = shell(place);
  let shown = { openers: {} };
  let ready = Promise.resolve();

  /** Draw the view; what is drawn later wins, however long an earlier one takes. */
  async function show() {
    const { own, view: named, of } = read(location.hash);
    const view = named in VIEWS ? named : "bench";
    if (named === "recipe") openRecipe(of[0]);
    drawn(own);
    leaveUndo();
    document.title = `${t(`shell.${view}`)} · ${t("shell.name")}`;
    refill(main);
    main.dataset.view = view;
    shell.mark(view);
    const mine = (shown = { openers: {} });
    mine.openers = (await VIEWS[view](main, of)) ?? {};
    if (mine === shown) await openNamed();
  }

  /** Open the sheets the address names that do not lie there yet; what nothing can open is taken out of it. */
  async function openNamed() {
    const { own, sheets } = read(location.hash);
    const there = await sheetsOpen();
    if (sheets.length && !history.state?.sheets) history.replaceState(null, "", own);
    for (const { name, about } of sheets.slice(there)) shown.openers[name]?.(...about);
    if (sheets.length && !(await sheetsOpen())) history.replaceState(null, "", own);
  }

  addEventListener("hashchange", async () => {
    const { own } = read(location.hash);
    if (own === drawn()) {
      await ready;
      return openNamed();
    }
    const giveBack = keepFocus(main);
    ready = show();
    scrollTo(0, 0);
    main.focus({ preventScroll: true });
    await ready;
    return giveBack(false);
  });
  followOtherTabs(() => {
    if (main.dataset.view === "bench") nameAddress();
    ready = show();
  });
  ready = show();
  performance.mark("usable");
  navigator.serviceWorker?.register("/worker.js");
  await ready;
}

start().catch((error) => {
  document.getElementById("silent").hidden = false;
  throw error;
});
