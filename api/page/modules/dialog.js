// A sheet that lies over the page until it is closed: by its button, by Escape, or by going back.

import { button, h, icon, uniqueId } from "./dom.js";
import { t } from "./known.js";

const open = [];

/**
 * Open a sheet; return its body and a way to close it, which is done once the address is what it was before.
 * @param {string} title
 * @param {{ onclose?: () => void, name?: string, address?: string }} [options]
 */
export function openSheet(title, { onclose, name = "", address } = {}) {
  const id = uniqueId("sheet");
  const body = h("div", { class: "sheet-body" });
  let gone;
  const closed = new Promise((done) => (gone = done));
  const sheet = h(
    "dialog",
    { class: `sheet ${name}`, "aria-labelledby": id, onclose: ended },
    h(
      "div",
      { class: "sheet-head" },
      h("h2", { id, tabindex: "-1" }, title),
      button(icon("cross"), () => close(), { class: "icon-button", "aria-label": t("words.close") }),
    ),
    body,
  );
  const close = () => (sheet.close(), closed);
  function ended() {
    open.splice(open.indexOf(one), 1);
    sheet.remove();
    onclose?.();
    if (history.state?.sheet !== id) return gone();
    addEventListener("popstate", gone, { once: true });
    return history.back();
  }
  const one = { id, close };
  open.push(one);
  if (address && location.hash === address) history.replaceState({ sheet: id }, "");
  else history.pushState({ sheet: id }, "", address);
  document.body.append(sheet);
  sheet.showModal();
  return { body, close };
}

addEventListener("popstate", () => {
  const last = open.at(-1);
  if (last && history.state?.sheet !== last.id) last.close();
});
