// What was just done and can be taken back: one bar at the foot of the page, until the next thing is done or another view is shown.

import { viewOf } from "./address.js";
import { button, focusOn, h, keepFocus } from "./dom.js";
import { keep, state } from "./state.js";
import { t } from "./known.js";

/** Say what was done and offer to take it back. */
export function offerUndo(text, takeBack) {
  document.querySelector(".undo")?.remove();
  const giveBack = keepFocus(document.body);
  const close = () => {
    bar.remove();
    if (!giveBack(false)) focusOn("#main", { preventScroll: true });
  };
  const bar = h(
    "div",
    { class: "undo", role: "status", "data-view": viewOf(location.hash) },
    h("span", {}, text),
    button(t("undo.undo"), () => {
      close();
      takeBack();
    }),
    button("×", close, { class: "quiet", "aria-label": t("words.close") }),
  );
  document.body.append(bar);
}

/** Take the bar away where another view is shown than the one it speaks of. */
export function leaveUndo() {
  const bar = /** @type {HTMLElement | null} */ (document.querySelector(".undo"));
  if (bar?.dataset.view !== viewOf(location.hash)) bar?.remove();
}

/** Do something to what was entered; the whole of it is put back if that is taken back. */
export function undoable(text, change, redraw) {
  const before = structuredClone(state);
  change();
  offerUndo(text, () => {
    Object.assign(state, before);
    keep();
    redraw();
  });
}
