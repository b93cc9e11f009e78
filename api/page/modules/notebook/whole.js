// The one place that takes the whole notebook out, and puts a whole one in.

import { getTagged, put } from "../api.js";
import { button, h, refill } from "../dom.js";
import { openSheet } from "../dialog.js";
import { t } from "../known.js";
import { loadWindow } from "../window.js";
import { stopBox, trouble } from "../trouble.js";

/** Draw both ways. */
export function drawWhole(place) {
  const done = h("p", { class: "verdict", hidden: true });
  const input = h("input", {
    type: "file",
    id: "whole",
    accept: ".json,application/json",
    onchange: async () => input.files[0] && confirm(await input.files[0].text(), done),
  });
  refill(
    place,
    h("p", {}, t("notebook.whole_about")),
    h("a", { class: "button", href: "/v1/notebook", download: "dough-notebook.json" }, t("notebook.take_out")),
    h("div", { class: "field" }, h("label", { for: "whole" }, t("notebook.put_in")), input),
    done,
  );
}

function confirm(text, done) {
  const { body, close } = openSheet(t("notebook.put_in"));
  const go = async () => {
    try {
      const notebook = JSON.parse(text);
      const { tag } = await getTagged("/v1/notebook");
      await put("/v1/notebook", notebook, tag ? { "If-Match": tag } : {});
      await close();
      await loadWindow();
      done.textContent = t("notebook.put_in_done");
      done.hidden = false;
    } catch (error) {
      if (error instanceof SyntaxError) body.prepend(stopBox(t("notebook.no_notebook")));
      else body.prepend(trouble(error));
    }
  };
  body.append(
    h("p", {}, t("notebook.put_in_about")),
    h(
      "div",
      { class: "row" },
      button(t("notebook.replace"), go, { class: "primary" }),
      button(t("notebook.keep"), close),
    ),
  );
}
