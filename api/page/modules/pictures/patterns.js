// The one place of the textures that tell powder, liquid and fat apart without colour.

import { s } from "../dom.js";

/** The textures, to be put once into the page. */
export const textures = () =>
  s(
    "svg",
    { class: "textures", width: 0, height: 0, "aria-hidden": "true" },
    s(
      "defs",
      {},
      s(
        "pattern",
        { id: "texture-powder", width: 8, height: 8, patternUnits: "userSpaceOnUse" },
        s("rect", { width: 8, height: 8, class: "paint-powder" }),
        s("circle", { cx: 2, cy: 2, r: 1.1, class: "grain" }),
        s("circle", { cx: 6, cy: 6, r: 1.1, class: "grain" }),
      ),
      s(
        "pattern",
        { id: "texture-liquid", width: 14, height: 8, patternUnits: "userSpaceOnUse" },
        s("rect", { width: 14, height: 8, class: "paint-liquid" }),
        s("path", { d: "M0 4q3.5-3 7 0t7 0", class: "wave" }),
      ),
      s(
        "pattern",
        { id: "texture-fat", width: 8, height: 8, patternUnits: "userSpaceOnUse" },
        s("rect", { width: 8, height: 8, class: "paint-fat" }),
        s("path", { d: "M-2 10L10-2M-2 2L2-2M6 10L10 6", class: "stripe" }),
      ),
      s(
        "pattern",
        { id: "texture-window", width: 7, height: 7, patternUnits: "userSpaceOnUse" },
        s("path", { d: "M-1 8L8-1", class: "hatch" }),
      ),
    ),
  );

/** What a part of this kind is filled with. */
export const fillOf = (kind) => (kind === "unknown" ? "none" : `url(#texture-${kind})`);
