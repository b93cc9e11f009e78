// The one place that starts the page and shows the view the address names.

import { get } from "./api.js";
import { refill } from "./dom.js";
import { know, t } from "./known.js";
import { shell } from "./shell.js";
import { followOtherTabs, openRecipe } from "./state.js";
import { loadWindow } from "./window.js";
import { show as bench } from "./bench/view.js";
import { show as dry } from "./dry/view.js";
import { show as label } from "./label/view.js";
import { show as notebook } from "./notebook/view.js";
import { show as plan } from "./plan/view.js";
import { show as weigh } from "./weigh/view.js";

const VIEWS = { bench, weigh, dry, label, plan, notebook };

async function start() {
  const place = document.getElementById("app");
  know(await get(document.documentElement.dataset.start));
  await loadWindow();
  const main = shell(place);
  const show = () => {
    const [name, id] = location.hash.slice(1).split("/");
    const view = name in VIEWS ? name : "bench";
    if (name === "recipe") openRecipe(id);
    document.title = `${t(`shell.${view}`)} · ${t("shell.name")}`;
    refill(main);
    main.dataset.view = view;
    shell.mark(view);
    VIEWS[view](main);
  };
  addEventListener("hashchange", () => {
    show();
    scrollTo(0, 0);
    main.focus({ preventScroll: true });
  });
  followOtherTabs(show);
  show();
  performance.mark("usable");
  navigator.serviceWorker?.register("/worker.js");
}

start().catch((error) => {
  document.getElementById("silent").hidden = false;
  throw error;
});
