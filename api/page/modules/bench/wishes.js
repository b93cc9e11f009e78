// The one place of what a maker may want besides a dough that handles: market, strength, price, shelf.

import { h, icon } from "../dom.js";
import { claim, field, select } from "../fields.js";
import { finder } from "../finder.js";
import { nameOf } from "../names.js";
import { readNumber } from "../numbers.js";
import { state } from "../state.js";
import { t } from "../texts.js";

export const MARKETS = ["none", "eu", "uk", "us", "ca", "jp"];

/** The list of markets. */
export const marketSelect = (bench) =>
  select({
    label: t("wishes.market"),
    chosen: state.wishes.market ?? "none",
    options: MARKETS.map((market) => [market, t(`market.${market}`)]),
    onchoose: (market) => {
      state.wishes = { ...state.wishes, market };
      bench.changed();
    },
  });

/** The wishes, all of them optional. */
export function drawWishes(bench) {
  const band = (end) => {
    const { box, complain } = field({
      label: t(`wishes.active_${end}`),
      unit: "%",
      small: true,
      pointer: `/wishes/active/${end}`,
      value: state.wishes.active?.[end] ?? "",
      oninput: (event) => {
        const value = readNumber(event.target.value);
        complain(Number.isNaN(value) ? t("dough.no_number") : "");
        if (Number.isNaN(value)) return;
        const active = { ...state.wishes.active, [end]: value ?? undefined };
        state.wishes = {
          ...state.wishes,
          active: active.min === undefined && active.max === undefined ? undefined : active,
        };
        bench.changed();
      },
    });
    return box;
  };
  return h(
    "div",
    { class: "wishes" },
    marketSelect(bench),
    h("div", { class: "pair" }, band("min"), band("max")),
    select({
      label: t("wishes.aim"),
      chosen: state.wishes.aim ?? "closest",
      options: [
        ["closest", t("wishes.closest")],
        ["lowest_cost", t("wishes.lowest_cost")],
      ],
      onchoose: (aim) => {
        state.wishes = { ...state.wishes, aim };
        bench.changed();
      },
    }),
    shelf(bench),
  );
}

function shelf(bench) {
  const { box, input, slot } = finder({
    label: t("wishes.shelf"),
    onfound: (material) => {
      state.shelf = [...new Set([...state.shelf, material.key])];
      bench.redraw();
      reopen();
      bench.changed();
    },
  });
  claim("/shelf", input, slot);
  return h(
    "div",
    { class: "shelf" },
    box,
    state.shelf.length
      ? h(
          "ul",
          { class: "told-list" },
          state.shelf.map((key) =>
            h(
              "li",
              {},
              nameOf(key),
              h(
                "button",
                {
                  type: "button",
                  class: "icon-button small",
                  "aria-label": t("wishes.shelf_remove", { name: nameOf(key) }),
                  onclick: () => {
                    state.shelf = state.shelf.filter((one) => one !== key);
                    bench.redraw();
                    reopen();
                    bench.changed();
                  },
                },
                icon("cross"),
              ),
            ),
          ),
        )
      : null,
  );
}

function reopen() {
  const more = document.querySelector("#dough details.more");
  if (more) more.open = true;
}
