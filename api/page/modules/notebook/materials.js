// The one place of the maker's own materials and of the lots that were delivered.

import { get, put } from "../api.js";
import { button, h, refill } from "../dom.js";
import { finder } from "../finder.js";
import { learn, nameOf, remember } from "../names.js";
import { show, showMass, toGrams } from "../numbers.js";
import { offers, t } from "../known.js";
import { openOwnMaterial } from "../own-material.js";
import { state } from "../state.js";
import { forget } from "./forget.js";
import { openForm } from "./form.js";
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
  openForm(t("notebook.add_lot"), {
    address: ["lot", material.key],
    fields: [
      { name: "lot", label: t("lot.name"), kind: "text", needed: true },
      ...FIGURES.map((name) => ({ name, label: t(`lot.${name}`), unit: unitOf(name) || undefined })),
      ...["received", "expires"].map((name) => ({ name, label: t(`lot.${name}`), kind: /** @type {"date"} */ ("date") })),
    ],
    keepIt: ({ lot, stock_grams: stock, ...told }) =>
      put(
        `/v1/materials/${material.key}/lots/${encodeURIComponent(lot)}`,
        { ...told, stock_grams: stock === null ? null : toGrams(stock, state.mass) },
        { "If-None-Match": "*" },
      ),
    again,
  });
}
