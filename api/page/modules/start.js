// The one place that starts the page and shows the view the address names.

import { Problem } from "./api.js";
import { h, refill } from "./dom.js";
import { loadTexts, t } from "./texts.js";
import { loadOffers } from "./offers.js";
import { shell } from "./shell.js";
import { trouble } from "./trouble.js";
import { loadWindow } from "./window.js";
import { loadWords } from "./words.js";

const VIEWS = {
  "": () => import("./bench/view.js"),
  "#weigh": () => import("./weigh/view.js"),
  "#dry": () => import("./dry/view.js"),
  "#label": () => import("./label/view.js"),
  "#notebook": () => import("./notebook/view.js"),
};

async function start() {
  await loadTexts("en");
  const place = document.getElementById("app");
  try {
    await Promise.all([loadWords(), loadOffers()]);
    await loadWindow();
  } catch (error) {
    refill(
      place,
      h(
        "main",
        { class: "silent" },
        h("h1", {}, t(error instanceof Problem ? "refusal.title" : "server.silent")),
        trouble(error),
        h("button", { class: "primary", onclick: () => location.reload() }, t("words.again")),
      ),
    );
    return;
  }
  const main = shell(place);
  const show = async () => {
    const view = await (VIEWS[location.hash] ?? VIEWS[""])();
    refill(main);
    main.dataset.view = location.hash.slice(1) || "bench";
    shell.mark(location.hash);
    view.show(main);
  };
  addEventListener("hashchange", async () => {
    await show();
    scrollTo(0, 0);
    main.focus({ preventScroll: true });
  });
  await show();
}

start();
