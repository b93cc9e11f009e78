// A sheet that lies over the page until it is closed: by its button, by Escape, or by going back; it has an address.

import { over, read } from "./address.js";
import { button, focusOn, h, icon, keepFocus, uniqueId } from "./dom.js";
import { t } from "./known.js";

const open = [];

let closing = Promise.resolve([]);

/** How many sheets lie over the page, once those that are being closed are gone. */
export const sheetsOpen = async () => (await closing, open.length);

/**
 * Open a sheet; return its body and a way to close it, which is done once the address is what it was before.
 * @param {string} title
 * @param {{ onclose?: () => void, name?: string, address?: string[] }} [options] `address` is its name and what it is about
 */
export function openSheet(title, { onclose, name = "", address = [] } = {}) {
  const id = uniqueId("sheet");
  const depth = open.length + 1;
  const giveBack = keepFocus(document.body);
  const body = h("div", { class: "sheet-body", tabindex: "-1" });
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
    open.splice(open.indexOf(close), 1);
    sheet.remove();
    if (!giveBack(false)) focusOn("#main", { preventScroll: true });
    onclose?.();
    if (history.state?.sheets !== depth) return gone();
    addEventListener("popstate", gone, { once: true });
    return history.back();
  }
  open.push(close);
  const there = read(location.hash).sheets.length >= depth;
  if (there) history.replaceState({ sheets: depth }, "");
  else history.pushState({ sheets: depth }, "", address.length ? over(location.hash, address) : undefined);
  document.body.append(sheet);
  sheet.showModal();
  return { body, close };
}

/** Close what the history no longer knows of. */
addEventListener("popstate", () => {
  closing = Promise.all(
    open
      .slice(history.state?.sheets ?? 0)
      .reverse()
      .map((close) => close()),
  );
});
