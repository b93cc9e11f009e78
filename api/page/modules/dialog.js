// The one place of a sheet that lies over the page until it is closed.

import { h, icon, uniqueId } from "./dom.js";
import { t } from "./texts.js";

/**
 * Open a sheet; return its body and a way to close it. Escape and the back gesture of the browser close it too.
 * @param {string} title
 * @param {{ onclose?: () => void }} [options]
 */
export function openSheet(title, { onclose } = {}) {
  const id = uniqueId("sheet");
  const body = h("div", { class: "sheet-body" });
  const close = () => sheet.close();
  const sheet = h(
    "dialog",
    { class: "sheet", "aria-labelledby": id, onclose: ended },
    h(
      "div",
      { class: "sheet-head" },
      h("h2", { id, tabindex: "-1" }, title),
      h(
        "button",
        { type: "button", class: "icon-button", "aria-label": t("words.close"), onclick: close },
        icon("cross"),
      ),
    ),
    body,
  );
  function ended() {
    sheet.remove();
    onclose?.();
  }
  document.body.append(sheet);
  sheet.showModal();
  return { body, close };
}
