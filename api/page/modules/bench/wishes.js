// The one place of what a maker may want besides a dough that handles: market, strength, price, shelf.

import { button, h, icon } from "../dom.js";
import { claim, faultOf, field, select } from "../fields.js";
import { finder } from "../finder.js";
import { nameOf } from "../names.js";
import { readNumber } from "../numbers.js";
import { giveUp } from "../request.js";
import { state } from "../state.js";
import { t } from "../known.js";

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
        complain(faultOf(event.target.value));
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
    phFields(bench),
    others(bench),
    shelf(bench),
  );
}

/** The pH that was read of the dough, and in how much dough of the water. */
function phFields(bench) {
  const one = (name, pointer, unit) => {
    const { box, complain } = field({
      label: t(`wishes.ph_${name}`),
      small: true,
      unit,
      pointer,
      value: state.ph[name],
      oninput: (event) => {
        state.ph = { ...state.ph, [name]: event.target.value };
        complain(faultOf(event.target.value));
        bench.changed();
      },
    });
    return box;
  };
  return h("div", { class: "pair" }, one("value", "/ph"), one("at", "/ph_at_percent", "%"));
}

/** The wishes that came with an opened recipe and have no field here: each can be taken back. */
function others(bench) {
  const banded = ["lines", "components", "components_dried"].flatMap((part) =>
    Object.entries(state.wishes[part] ?? {}).map(([name, band]) => ({
      path: [part, name],
      text: t(`wishes.${part}`, { name: part === "lines" ? nameOf(name) : name, band: bandText(band) }),
    })),
  );
  const plain = ["new_materials_at_most", "confidence"]
    .filter((part) => state.wishes[part] !== undefined && state.wishes[part] !== null)
    .map((part) => ({ path: [part], text: t(`wishes.${part}`, { value: state.wishes[part] }) }));
  const all = [...banded, ...plain];
  if (!all.length) return null;
  return h(
    "ul",
    { class: "told-list", "aria-label": t("wishes.others") },
    all.map(({ path, text }) =>
      h(
        "li",
        {},
        text,
        button(
          icon("cross"),
          () => {
            giveUp(
              state,
              ["", "wishes", ...path.map((step) => step.replaceAll("~", "~0").replaceAll("/", "~1"))].join("/"),
            );
            bench.redraw();
            bench.changed();
          },
          { class: "icon-button small", "aria-label": t("happened.take_back", { what: text }) },
        ),
      ),
    ),
  );
}

const bandText = ({ min, max }) =>
  [
    min === undefined || min === null ? null : t("limits.at_least", { value: min, unit: " %" }),
    max === undefined || max === null ? null : t("limits.at_most", { value: max, unit: " %" }),
  ]
    .filter(Boolean)
    .join(", ");

function shelf(bench) {
  const { box, input, slot } = finder({
    label: t("wishes.shelf"),
    onfound: (material) => {
      state.shelf = [...new Set([...state.shelf, material.key])];
      bench.redraw();
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
              button(
                icon("cross"),
                () => {
                  state.shelf = state.shelf.filter((one) => one !== key);
                  bench.redraw();
                  bench.changed();
                },
                { class: "icon-button small", "aria-label": t("wishes.shelf_remove", { name: nameOf(key) }) },
              ),
            ),
          ),
        )
      : null,
  );
}
