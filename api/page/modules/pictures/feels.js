// The one place of the small pictures on the buttons that say what happened.

import { s } from "../dom.js";

const line = (d) => s("path", { d, class: "stroke" });
const solid = (d) => s("path", { d, class: "solid" });
const dot = (cx, cy, r) => s("circle", { cx, cy, r, class: "dot" });

const DRAWN = {
  too_wet: () => [
    solid("M8 34c0-14 10-22 24-22s24 8 24 22c0 4-2 5-4 5s-3 5-6 5-3-6-6-6-4 7-8 7-4-6-8-6-3 4-6 4-4-6-6-6-4-1-4-3z"),
    line("M20 42v5M46 46v4"),
  ],
  too_dry: () => [
    solid("M14 36l3-14 12-8 14 3 8 10-2 9z"),
    line("M28 15l3 9-4 6M43 18l-4 8 3 8"),
    dot(10, 42, 2.2),
    dot(19, 44, 2.8),
    dot(30, 43, 2),
    dot(41, 44, 2.6),
    dot(52, 42, 2.2),
    dot(57, 36, 1.6),
  ],
  crumbling: () => [
    solid("M9 30c0-9 7-16 16-17l-3 8 6 6-5 7 3 9c-10 0-17-5-17-13z"),
    solid("M33 12c12-1 22 6 22 17 0 9-7 14-18 14l-4-8 5-8-6-6z"),
  ],
  cracks_while_drying: () => [
    solid("M8 20c0-4 3-6 6-6h36c4 0 6 2 6 6v16c0 4-2 6-6 6H14c-3 0-6-2-6-6z"),
    s("path", { d: "M22 14l4 9-5 7 4 12M42 14l-3 7 5 6-4 6", class: "cut" }),
  ],
  stays_soft: () => [
    solid("M8 24c0-6 8-9 14-9 5 0 6 9 11 9s6-9 11-9c6 0 12 3 12 9v12c0 4-2 6-6 6H14c-4 0-6-2-6-6z"),
    line("M33 4v12M28 11l5 6 5-6"),
  ],
  mushy_in_use: () => [
    solid("M12 20c0-5 3-8 8-8h24c5 0 8 3 8 8v10H12z"),
    solid("M6 38c0-5 3-8 8-8h36c5 0 8 3 8 8 0 3-3 4-6 3s-5 3-9 2-6 2-10 1-7 2-11 0-6 1-10-1-8 2-8-5z"),
    line("M17 34c3-2 5 2 8 0s5 2 8 0 5 2 8 0 5 2 8 0"),
  ],
  cracks_in_use: () => [
    solid("M8 20c0-4 3-6 6-6h36c4 0 6 2 6 6v10c0 4-2 6-6 6H14c-3 0-6-2-6-6z"),
    s("path", { d: "M24 14l4 7-5 6 4 9M42 14l-4 8 4 6", class: "cut" }),
    line("M8 45c4-3 7 3 11 0s7 3 11 0 7 3 11 0 7 3 11 0"),
  ],
  wears_fast: () => [
    s("path", {
      d: "M8 18c0-4 3-6 6-6h36c4 0 6 2 6 6v18c0 4-2 6-6 6H14c-3 0-6-2-6-6z",
      class: "stroke",
      "stroke-dasharray": "4 4",
    }),
    solid("M16 33c0-3 2-5 5-5h22c3 0 5 2 5 5v1c0 3-2 5-5 5H21c-3 0-5-2-5-5z"),
  ],
  poor_lather: () => [
    solid("M10 32c0-4 3-6 6-6h32c4 0 6 2 6 6v6c0 4-2 6-6 6H16c-3 0-6-2-6-6z"),
    line("M26 18a5 5 0 1 0 0.1 0M40 13a3 3 0 1 0 0.1 0"),
  ],
  harsh: () => [
    solid("M10 34c0-4 3-6 6-6h32c4 0 6 2 6 6v6c0 4-2 6-6 6H16c-3 0-6-2-6-6z"),
    line("M20 22l-4-6 6-2-3-7M33 22l-3-6 6-2-3-7M46 22l-3-6 6-2-3-7"),
  ],
  workable: () => [
    solid("M10 30c0-11 9-18 22-18s22 7 22 18-9 13-22 13-22-2-22-13z"),
    s("path", { d: "M22 28l7 7 13-14", class: "cut" }),
  ],
};

/** A picture by its name in the rules; the word on the button says what it stands for. */
export const feelPicture = (name) =>
  s("svg", { viewBox: "0 0 64 52", class: "feel-picture", "aria-hidden": "true" }, (DRAWN[name] ?? DRAWN.workable)());
