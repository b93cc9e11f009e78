// The one place of a material the library does not have: its form, filled in by the maker.

import { button, h, refill } from "./dom.js";
import { openSheet } from "./dialog.js";
import { choice, faultOf, field, select } from "./fields.js";
import { readNumber } from "./numbers.js";
import { offers, t } from "./known.js";

const FORMS = ["powder", "granule", "flake", "liquid", "paste", "soft_solid", "hard_solid"];
const ROLES = [
  "primary_surfactant",
  "co_surfactant",
  "filler",
  "emollient",
  "humectant",
  "binder",
  "structurant",
  "preservative",
  "acid",
  "base",
  "chelator",
  "fragrance",
  "colourant",
  "water",
  "featured",
  "rework",
];
const unitOf = (key) => [key === "price_per_kg" ? offers().currency : "", t(`own.${key}_unit`)].filter(Boolean).join(" ");
const CHARGES = ["none", "anionic", "amphoteric", "nonionic", "zwitterionic", "cationic"];

/** Ask for what a calculation needs; the rest may stay empty. */
export function openOwnMaterial({ name, onmade }) {
  const { body, close } = openSheet(t("own.title"), { address: name ? ["own", name] : ["own"] });
  const made = { form: "powder", roles: ["filler"], charge: "none" };
  const called = field({ label: t("own.name"), value: name, inputmode: "text" });
  const inci = field({ label: t("own.inci"), hint: t("own.inci_hint"), inputmode: "text" });
  const numbers = ["active", "water", "uptake", "wetting", "price_per_kg"].map((key) => ({
    key,
    ...field({ label: t(`own.${key}`), unit: unitOf(key), small: true }),
  }));
  const draw = () => {
    const forms = choice({
      label: t("own.form"),
      kind: "segments",
      chosen: made.form,
      options: FORMS.map((form) => [form, t(`form.${form}`)]),
      onchoose: (form) => {
        made.form = form;
        draw();
      },
    });
    refill(
      body,
      called.box,
      forms,
      select({
        label: t("own.role"),
        chosen: made.roles[0],
        options: ROLES.map((role) => [role, t(`role.${role}`)]),
        onchoose: (role) => {
          made.roles = [role];
        },
      }),
      select({
        label: t("own.charge"),
        chosen: made.charge,
        options: CHARGES.map((charge) => [charge, t(`charge.${charge}`)]),
        onchoose: (charge) => {
          made.charge = charge;
        },
      }),
      inci.box,
      h(
        "details",
        { class: "more" },
        h("summary", {}, t("own.more")),
        h("p", { class: "hint" }, t("own.more_hint")),
        h(
          "div",
          { class: "pair" },
          numbers.map((one) => one.box),
        ),
      ),
      button(t("own.take"), finish, { class: "primary" }),
    );
  };
  async function finish() {
    const title = called.input.value.trim();
    called.complain(title ? "" : t("own.no_name"));
    if (!title) return;
    const material = {
      key: keyOf(title),
      name: title,
      ...made,
      composition: { [inci.input.value.trim() || title]: 100 },
    };
    let wrong = false;
    for (const one of numbers) {
      const value = readNumber(one.input.value);
      one.complain(faultOf(one.input.value));
      wrong ||= Number.isNaN(value);
      if (value !== null) material[one.key] = value;
    }
    if (wrong) return;
    await close();
    onmade(material);
  }
  draw();
}

/** A key made of a name: small letters, figures and hyphens. */
export const keyOf = (name) =>
  `my-${name
    .normalize("NFKD")
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "")}`
    .slice(0, 60)
    .replace(/-+$/, "");
