// The one place of the field that finds a material by any part of its name.

import { h, refill, uniqueId } from "./dom.js";
import { complain, slot } from "./fields.js";
import { find } from "./names.js";
import { t } from "./known.js";

const PAUSE_MS = 90;

/**
 * A search field with a list under it; onfound gets the chosen material, onpaste a pasted table.
 * @param {{ label: string, value?: string, onfound: (material: any) => void, onnone?: () => void,
 *   onpaste?: (text: string) => void, hiddenLabel?: boolean, placeholder?: string }} made
 */
export function finder({ label, value = "", onfound, onnone, onpaste, hiddenLabel = false, placeholder }) {
  const id = uniqueId("finder");
  const listId = uniqueId("found");
  let found = [];
  let active = -1;
  let asking = null;
  let waiting = 0;

  const input = h("input", {
    id,
    type: "text",
    role: "combobox",
    "aria-expanded": "false",
    "aria-controls": listId,
    "aria-autocomplete": "list",
    autocomplete: "off",
    autocapitalize: "off",
    spellcheck: "false",
    enterkeyhint: "search",
    placeholder,
    value,
    oninput: () => later(),
    onkeydown: keyed,
    onpaste: pasted,
    onblur: () => setTimeout(() => document.activeElement === input || shut(), 150),
    onfocus: () => input.value.trim() && later(),
  });
  const list = h("ul", { id: listId, role: "listbox", class: "found", hidden: true, "aria-label": label });
  const below = slot();

  function later() {
    clearTimeout(waiting);
    waiting = setTimeout(search, PAUSE_MS);
  }

  async function search() {
    asking?.abort();
    const text = input.value.trim();
    if (text === "") return shut();
    asking = new AbortController();
    try {
      found = await find(text, asking.signal);
      complain(input, below, found.length ? "" : t("finder.none", { text }));
      if (!found.length) onnone?.();
      draw();
    } catch (error) {
      if (error.name !== "AbortError") complain(input, below, t("server.silent"));
    }
  }

  function draw() {
    active = -1;
    refill(
      list,
      ...found.map((material, place) =>
        h(
          "li",
          {
            id: `${listId}-${place}`,
            role: "option",
            "aria-selected": "false",
            onmousedown: (event) => event.preventDefault(),
            onclick: () => choose(material),
          },
          h("span", {}, material.name),
          also(material),
        ),
      ),
    );
    list.hidden = found.length === 0;
    input.setAttribute("aria-expanded", String(found.length > 0));
    input.removeAttribute("aria-activedescendant");
  }

  const also = (material) => (material.also?.length ? h("small", {}, material.also.slice(0, 2).join(", ")) : null);

  function mark(place) {
    active = (place + found.length) % found.length;
    [...list.children].forEach((item, index) => item.setAttribute("aria-selected", String(index === active)));
    list.children[active].scrollIntoView({ block: "nearest" });
    input.setAttribute("aria-activedescendant", list.children[active].id);
  }

  async function keyed(event) {
    if (event.key === "Escape") {
      if (!list.hidden) event.preventDefault();
      return shut();
    }
    if (event.key === "ArrowDown" || event.key === "ArrowUp") {
      event.preventDefault();
      if (list.hidden) return later();
      return mark(active < 0 && event.key === "ArrowUp" ? -1 : active + (event.key === "ArrowDown" ? 1 : -1));
    }
    if (event.key === "Enter" && input.value.trim()) {
      event.preventDefault();
      if (list.hidden) await search();
      if (found.length) choose(found[Math.max(active, 0)]);
    }
    return undefined;
  }

  function pasted(event) {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!onpaste || !/\r?\n/.test(text.trim())) return;
    event.preventDefault();
    onpaste(text);
  }

  function choose(material) {
    input.value = "";
    found = [];
    shut();
    onfound(material);
  }

  function shut() {
    clearTimeout(waiting);
    list.hidden = true;
    input.setAttribute("aria-expanded", "false");
    input.removeAttribute("aria-activedescendant");
  }

  const box = h(
    "div",
    { class: "field finder" },
    h("label", { for: id, class: hiddenLabel ? "unseen" : "" }, label),
    h("div", { class: "input" }, input),
    list,
    below,
  );
  return { box, input, slot: below };
}
