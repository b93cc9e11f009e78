// The one place that writes a judged dough into the notebook.

import { post, Problem, put } from "../api.js";
import { announce, button, focusOn, h, icon, refill } from "../dom.js";
import { openSheet } from "../dialog.js";
import { faultOf, field } from "../fields.js";
import { readMass } from "../numbers.js";
import { recipeOf, versionOf, writtenGrams } from "../request.js";
import { state } from "../state.js";
import { t } from "../known.js";
import { loadWindow } from "../window.js";
import { trouble } from "../trouble.js";

/** Ask for the day and the mass, and keep the dough with its report. */
export function openSave({ answer, said }) {
  const { body, close } = openSheet(t("save.title"), { address: ["keep"] });
  const made = versionOf(state);
  const day = field({ label: t("record.made_on"), type: "date", pointer: "/made_on", value: today() });
  const batch = field({ label: t("weigh.batch"), unit: state.mass, pointer: "/batch_grams", value: state.bowl.grams || writtenGrams(state) || "" });
  const number = field({ label: t("record.batch"), inputmode: "text", pointer: "/batch", value: state.record.batch ?? "" });
  const notes = field({ label: t("save.notes"), inputmode: "text", pointer: "/notes" });
  const place = h("div", { "aria-live": "polite" });
  const idempotency = crypto.randomUUID?.() ?? `${Date.now()}-${Math.random()}`;
  const go = button(t("save.keep"), save, { class: "primary" });
  body.append(
    h("p", {}, h("strong", {}, `${said}.`), " ", t("save.about")),
    made.recipe_key ? h("p", {}, t("notebook.made_of", { key: made.recipe_key, version: made.version })) : "",
    h("div", { class: "pair" }, day.box, batch.box, number.box, notes.box),
    go,
    place,
  );

  let saving = false;
  async function save() {
    if (saving) return;
    saving = true;
    try {
      const grams = readMass(batch.input.value, state.mass);
      batch.complain(faultOf(batch.input.value));
      if (Number.isNaN(grams)) {
        saving = false;
        return;
      }
      for (const material of state.materials) await keepMaterial(material);
      await post(
        "/v1/doughs",
        {
          recipe: recipeOf(state, {}),
          ...made,
          report: state.report,
          ...(day.input.value ? { made_on: day.input.value } : {}),
          ...(grams ? { batch_grams: grams } : {}),
          ...(number.input.value ? { batch: number.input.value } : {}),
          ...(notes.input.value ? { notes: notes.input.value } : {}),
          ...(answer.changes.length
            ? {
                correction: answer.changes
                  .map((change) => `${change.material} ${change.before} -> ${change.after} %`)
                  .join("; "),
              }
            : {}),
        },
        { headers: { "Idempotency-Key": idempotency } },
      );
      await loadWindow();
      const look = async (where) => {
        await close();
        location.hash = where;
      };
      go.hidden = true;
      refill(
        place,
        h("p", { class: "verdict" }, icon("tick"), t("save.kept")),
        h(
          "div",
          { class: "row" },
          button(t("save.look"), () => look("#notebook")),
          day.input.value ? button(t("save.rack"), () => look("#plan/rack")) : null,
        ),
      );
      focusOn(".sheet .row button");
      announce(t("save.kept"));
    } catch (error) {
      saving = false;
      refill(place, trouble(error));
    }
  }
}

/** Keep a material of the maker's own, unless the notebook has it. */
async function keepMaterial(material) {
  try {
    await put(`/v1/materials/${material.key}`, material, { "If-None-Match": "*" });
  } catch (error) {
    if (!(error instanceof Problem && error.code === "stale")) throw error;
  }
}

const today = () => {
  const now = new Date();
  return new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
};
