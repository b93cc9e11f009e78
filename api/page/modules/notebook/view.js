// The one place of the shop's notebook: doughs, what they teach, own materials, all of it out and in.

import { rename, write } from "../address.js";
import { h, refill } from "../dom.js";
import { choice } from "../fields.js";
import { offers, t } from "../known.js";
import { state } from "../state.js";
import { drawDoughs } from "./doughs.js";
import { drawMaterials } from "./materials.js";
import { drawTrial } from "./trial.js";
import { drawWindow } from "./window.js";
import { drawWhole } from "./whole.js";

const PARTS = { doughs: drawDoughs, window: drawWindow, trial: drawTrial, materials: drawMaterials, whole: drawWhole };

/** Show the notebook. */
export function show(main, [named]) {
  const place = h("section", { class: "step notebook", "aria-labelledby": "notebook-title" });
  refill(main, h("div", { class: "narrow" }, place));
  if (!offers().notebook)
    return refill(
      place,
      h("h1", { id: "notebook-title" }, t("notebook.title")),
      h("p", {}, t("notebook.not_installed")),
    );
  const part = h("div", { class: "notebook-part", "aria-live": "polite" });
  if (named in PARTS) state.notebook = named;
  const chosen = state.notebook ?? "doughs";
  rename(write("notebook", chosen));
  refill(
    place,
    h("h1", { id: "notebook-title" }, t("notebook.title")),
    choice({
      label: t("notebook.parts"),
      hiddenLabel: true,
      chosen,
      options: Object.keys(PARTS).map((name) => [name, t(`notebook.${name}`)]),
      onchoose: (name) => (location.hash = write("notebook", name)),
    }),
    part,
  );
  return PARTS[chosen](part);
}
