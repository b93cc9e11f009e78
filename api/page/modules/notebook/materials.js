// The one place of the maker's own materials and of the lots that were delivered.

import { get, put } from "../api.js";
import { button, h, refill } from "../dom.js";
import { openSheet } from "../dialog.js";
import { faultOf, field } from "../fields.js";
import { finder } from "../finder.js";
import { learn, nameOf, remember } from "../names.js";
import { readNumber, show, showMass, toGrams } from "../numbers.js";
import { offers, t } from "../known.js";
import { openOwnMaterial } from "../own-material.js";
import { state } from "../state.js";
import { forget } from "./forget.js";
import { trouble } from "../trouble.js";

/** Draw the own materials, and a way to the lots of any material. */
export async function drawMaterials(place) {
  const list = h("ul", { class: "plain" });
  const lots = h("div", { class: "lots" });
  const again = () => drawMaterials(place);
  const add = () =>
    openOwnMaterial({
      name: "",
      onmade: async (material) => {
        try {
          await put(`/v1/materials/${material.key}`, material, { "If-None-Match": "*" });
          await again();
        } catch (error) {
          place.prepend(trouble(error));
        }
      },
    });
  refill(
    place,
    h("h2", {}, t("notebook.materials")),
    list,
    button(t("notebook.add_material"), add),
    h("h2", {}, t("notebook.lots")),
    finder({ label: t("notebook.lots_of"), onfound: (material) => drawLots(lots, material) }).box,
    lots,
  );
  try {
    const { items } = await get("/v1/materials?own=true&limit=200");
    items.forEach(remember);
    refill(
      list,
      ...(items.length
        ? items.map((material) =>
            h(
              "li",
              { class: "kept-line" },
              h("span", {}, material.name),
              button(t("notebook.lots"), () => drawLots(lots, material), { class: "quiet" }),
              button(
                t("notebook.forget"),
                () => forgetKept(`/v1/materials/${material.key}`, material.name, place, again),
                { class: "quiet" },
              ),
            ),
          )
        : [h("li", {}, t("notebook.no_materials"))]),
    );
  } catch (error) {
    place.prepend(trouble(error));
  }
  return {
    own: add,
    lot: async (key) => {
      await learn([key]);
      await drawLots(lots, { key, name: nameOf(key) });
      openLot({ key, name: nameOf(key) }, () => drawLots(lots, { key, name: nameOf(key) }));
    },
  };
}

const forgetKept = (path, name, place, again) =>
  forget(path, name, place, again, (kept) => put(path, kept, { "If-None-Match": "*" }));

async function drawLots(place, material) {
  try {
    const { items } = await get(`/v1/materials/${material.key}/lots?limit=200`);
    const again = () => drawLots(place, material);
    refill(
      place,
      h("h3", {}, t("notebook.lots_named", { name: material.name })),
      h(
        "ul",
        { class: "plain" },
        items.length
          ? items.map((lot) =>
              h(
                "li",
                { class: "kept-line" },
                h("span", {}, h("strong", { translate: "no" }, lot.lot), " ", lotWords(lot)),
                button(
                  t("notebook.forget"),
                  () =>
                    forgetKept(
                      `/v1/materials/${material.key}/lots/${encodeURIComponent(lot.lot)}`,
                      lot.lot,
                      place,
                      again,
                    ),
                  { class: "quiet" },
                ),
              ),
            )
          : h("li", {}, t("notebook.no_lots")),
      ),
      button(t("notebook.add_lot"), () => openLot(material, again)),
    );
  } catch (error) {
    place.prepend(trouble(error));
  }
}

const FIGURES = ["active", "free_fatty_acid", "price_per_kg", "stock_grams"];
const unitOf = (key) => (key === "price_per_kg" ? (offers().currency ?? "") : key === "stock_grams" ? state.mass : "%");
const figureOf = (key, value) =>
  key === "stock_grams" ? showMass(value, state.mass) : `${show(value)} ${unitOf(key)}`.trim();
const lotWords = (lot) =>
  [
    ...FIGURES.filter((key) => lot[key] !== null && lot[key] !== undefined).map(
      (key) => `${t(`lot.${key}`)} ${figureOf(key, lot[key])}`,
    ),
    lot.expires ? t("lot.until", { day: lot.expires }) : null,
  ]
    .filter(Boolean)
    .join(", ");

function openLot(material, again) {
  const { body, close } = openSheet(t("notebook.add_lot"), { address: ["lot", material.key] });
  const name = field({ label: t("lot.name"), inputmode: "text" });
  const figures = FIGURES.map((key) => ({
    key,
    ...field({ label: t(`lot.${key}`), unit: unitOf(key) || undefined, small: true, pointer: `/${key}` }),
  }));
  const days = ["received", "expires"].map((key) => ({
    key,
    ...field({ label: t(`lot.${key}`), type: "date", pointer: `/${key}` }),
  }));
  const save = async () => {
    name.complain(name.input.value.trim() ? "" : t("own.no_name"));
    const lot = {};
    let wrong = !name.input.value.trim();
    for (const one of figures) {
      const value = readNumber(one.input.value);
      one.complain(faultOf(one.input.value));
      wrong ||= Number.isNaN(value);
      if (value !== null) lot[one.key] = one.key === "stock_grams" ? toGrams(value, state.mass) : value;
    }
    for (const one of days) if (one.input.value) lot[one.key] = one.input.value;
    if (wrong) return;
    try {
      await put(`/v1/materials/${material.key}/lots/${encodeURIComponent(name.input.value.trim())}`, lot, {
        "If-None-Match": "*",
      });
      await close();
      await again();
    } catch (error) {
      body.prepend(trouble(error));
    }
  };
  body.append(
    name.box,
    h(
      "div",
      { class: "pair" },
      figures.map((one) => one.box),
    ),
    h(
      "div",
      { class: "pair" },
      days.map((one) => one.box),
    ),
    button(t("save.keep"), save, { class: "primary" }),
  );
}
