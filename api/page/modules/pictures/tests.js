// The one place of the drawn bench tests: each shows the outcomes its text names, in the order of the text.

import { s } from "../dom.js";

const solid = (d) => s("path", { d, class: "solid" });
const line = (d) => s("path", { d, class: "stroke" });
const cut = (d) => s("path", { d, class: "cut" });
const dot = (cx, cy, r) => s("circle", { cx, cy, r, class: "dot" });
const at = (x, ...parts) => s("g", { transform: `translate(${x} 0)` }, parts);

const crumbs = () => [
  solid("M22 52l8-10 12 2 6 8-4 8H28z"),
  dot(14, 60, 3),
  dot(56, 62, 3.5),
  dot(62, 52, 2.5),
  dot(36, 66, 2.5),
  dot(20, 46, 2),
];
const broken = () => [
  solid("M12 50c0-10 7-16 16-17l-2 9 5 6-4 7 2 10c-10 0-17-6-17-15z"),
  solid("M36 33c12 0 20 7 20 17 0 9-7 15-17 15l-4-9 4-7-5-7z"),
  line("M46 8v20M41 22l5 7 5-7"),
];
const smear = () => [
  solid("M6 58c8-8 14-3 22-8s16-8 22-3 14 2 18 9c-6 8-16 6-26 8s-30 4-36-6z"),
  line("M14 46l-4-8M34 42l-2-9M54 43l4-8"),
];
const ball = () => [solid("M12 50c0-11 9-17 22-17s22 6 22 17-9 15-22 15-22-4-22-15z")];

const DRAWN = {
  squeeze: () => [at(0, crumbs()), at(84, broken()), at(168, smear())],
  thread: () => [
    at(0, solid("M2 44h28l-4 6 5 6-5 4H2zM36 44h30v16H34l4-5-5-6z"), dot(33, 66, 2)),
    at(84, solid("M2 44c20 0 22 6 34 14s24 4 30-4v14c-10 10-24 10-34 4S20 60 2 60z"), line("M50 84v-8")),
  ],
  ribbon: () => [
    at(0, line("M4 70c20 0 30-8 44-8h20"), solid("M10 58c14 0 22-6 34-6l-5-6 6-2-5-6c-14 0-20 6-32 6z")),
    at(100, line("M4 70c20 0 30-8 44-8h40"), solid("M10 58c14 0 22-6 36-6h40V38H44c-14 0-22 6-36 6z")),
  ],
  thumbprint: () => [
    at(0, ball(), s("ellipse", { cx: 34, cy: 44, rx: 10, ry: 6, class: "cut-solid" })),
    at(
      84,
      ball(),
      s("ellipse", { cx: 34, cy: 44, rx: 10, ry: 6, class: "cut-solid" }),
      cut("M22 42l-6-4M46 42l7-4M34 51l1 8"),
    ),
  ],
  "two-drops": () => [
    s("path", {
      d: "M26 6c4 7 6 9 6 12a6 6 0 0 1-12 0c0-3 2-5 6-12zM44 12c4 7 6 9 6 12a6 6 0 0 1-12 0c0-3 2-5 6-12z",
      class: "drop",
    }),
    at(0, ball()),
    at(84, ball(), cut("M26 50l6 6 11-12")),
    at(168, broken().slice(0, 2)),
    at(252, smear()),
  ],
};

/** The picture of a bench test; its text stands beside it. */
export function testPicture(id) {
  const drawn = DRAWN[id];
  return drawn ? s("svg", { viewBox: "0 0 330 84", class: "test-picture", "aria-hidden": "true" }, drawn()) : null;
}
