// The one place that starts the page and shows the view the address names.

import { get } from "./api.js";
import { h } from "./dom.js";
import { loadTexts, t } from "./texts.js";
import { loadWords } from "./words.js";
import { shell } from "./shell.js";

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
    await loadWords();
  } catch {
    place.replaceChildren(h("main", { class: "silent" }, h("h1", {}, t("server.silent")), h("p", {}, t("server.silent_help")), h("button", { class: "primary", onclick: () => location.reload() }, t("words.again"))));
    return;
  }
  const main = shell(place, await offered());
  const show = async () => {
    const view = await (VIEWS[location.hash] ?? VIEWS[""])();
    main.replaceChildren();
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

/** Which optional parts this server has. */
async function offered() {
  try {
    await get("/v1/doughs?limit=1");
    return { notebook: true };
  } catch {
    return { notebook: false };
  }
}

start();
