// The one place of what stands around every view: name, ways to the other views, light or dark.

import { button, h, icon, refill } from "./dom.js";
import { textures } from "./pictures/patterns.js";
import { t } from "./known.js";

const VIEWS = ["bench", "weigh", "dry", "label", "plan", "notebook"];

/** Draw the frame; return the element the views are shown in. */
export function shell(place) {
  const main = h("main", { id: "main", tabindex: "-1" });
  refill(
    place,
    h(
      "a",
      { class: "skip", href: "#main", onclick: (event) => (event.preventDefault(), main.focus()) },
      t("shell.skip"),
    ),
    h(
      "header",
      { class: "top" },
      h("a", { class: "brand", href: "#", "aria-label": t("shell.home") }, icon("bar"), h("span", {}, t("shell.name"))),
      button(icon("lamp"), () => document.dispatchEvent(new Event("theme-toggle")), {
        class: "icon-button",
        "aria-label": t("shell.theme"),
      }),
      h(
        "nav",
        { "aria-label": t("shell.views") },
        VIEWS.map((name) =>
          h("a", { href: name === "bench" ? "#" : `#${name}`, "data-view": name }, t(`shell.${name}`)),
        ),
      ),
    ),
    main,
    h(
      "footer",
      { class: "foot" },
      h("p", {}, t("shell.foot")),
      h("p", {}, h("a", { href: "/help/" }, t("shell.help")), " · ", h("a", { href: "/docs" }, t("shell.docs"))),
    ),
    textures(),
    h("p", { id: "announcer", class: "unseen", role: "status", "aria-live": "polite" }),
  );
  return main;
}

/** Say which view is shown. */
shell.mark = (view) => {
  for (const link of /** @type {NodeListOf<HTMLElement>} */ (document.querySelectorAll(".top nav a")))
    if (link.dataset.view === view) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
};
