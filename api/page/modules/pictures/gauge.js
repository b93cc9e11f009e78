// The one place of one figure between its bounds; the words beside it say the same.

import { s } from "../dom.js";

const WIDTH = 320;

/** Draw the value of a check on a line with its allowed stretch. */
export function gauge({ value, min, max, ok }) {
  const ends = [value, min, max].filter((end) => end !== null);
  const [low, high] = [min === null ? 0 : Math.min(...ends), Math.max(...ends)];
  const room = (high - low || Math.abs(high) || 1) * 0.18;
  const from = min === null ? Math.min(0, low) : low - room;
  const to = high + room;
  const x = (figure) => ((figure - from) / (to - from)) * WIDTH;
  const [left, right] = [min === null ? 0 : x(min), max === null ? WIDTH : x(max)];
  return s(
    "svg",
    { viewBox: `0 0 ${WIDTH} 22`, class: ok ? "gauge" : "gauge gauge-broken", "aria-hidden": "true" },
    s("rect", { x: 0, y: 9, width: WIDTH, height: 4, class: "gauge-line" }),
    s("rect", { x: left, y: 6, width: Math.max(right - left, 1.5), height: 10, class: "gauge-allowed" }),
    min === null ? null : s("path", { d: `M${left} 2v18`, class: "gauge-bound" }),
    max === null ? null : s("path", { d: `M${right} 2v18`, class: "gauge-bound" }),
    s("path", { d: `M${x(value)} 3l7 8-7 8-7-8z`, class: "gauge-value" }),
  );
}
