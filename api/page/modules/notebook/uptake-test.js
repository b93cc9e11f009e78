// The one place of the bench test that measures how much liquid a powder takes up.

import { getTagged, post, Problem, put } from "../api.js";
import { button, h, refill } from "../dom.js";
import { field, slot, claim, complain } from "../fields.js";
import { learn, nameOf } from "../names.js";
import { fromGrams, readMass, show } from "../numbers.js";
import { state } from "../state.js";
import { t } from "../known.js";
import { trouble } from "../trouble.js";
import { loadWindow } from "../window.js";

const [POWDER_GRAMS, STEP_GRAMS] = [20, 0.2];

/** Draw the steps and the form of a powder's test, as the server words them. */
export async function drawUptakeTest(place, key) {
  try {
    await learn([key]);
    const form = await post("/v1/uptake-tests", { material: key });
    const powder = field({
      label: t("uptake.powder"),
      unit: state.mass,
      pointer: "/powder_grams",
      value: fromGrams(POWDER_GRAMS, state.mass),
    });
    const rows = form.form.map((one) => {
      const { box, input } = field({ label: one.text, unit: state.mass, pointer: `/${one.name}` });
      return { name: one.name, box, input };
    });
    const whole = slot();
    const result = h("div", { "aria-live": "polite" });
    const asks = button(t("uptake.measure"), () => measure(), { class: "primary" });
    claim("/repeats", asks, whole);
    const measure = () => reckon(result, bodyOf(key, powder, rows, whole, asks));
    refill(
      place,
      h("h3", {}, nameOf(key)),
      h(
        "ol",
        { class: "plain" },
        form.steps.map(({ text }) => h("li", {}, text)),
      ),
      powder.box,
      h(
        "div",
        { class: "pair" },
        rows.map(({ box }) => box),
      ),
      asks,
      whole,
      result,
    );
  } catch (error) {
    refill(place, trouble(error));
  }
}

function bodyOf(key, powder, rows, whole, asks) {
  const repeats = [];
  for (const { name, input } of rows) {
    const [, place, what] = name.split("/");
    const value = readMass(input.value, state.mass);
    if (value === null || Number.isNaN(value)) continue;
    repeats[place] = { ...repeats[place], [what]: value };
  }
  const filled = repeats.filter(Boolean);
  complain(asks, whole, filled.length ? "" : t("uptake.empty"));
  if (!filled.length) return null;
  return {
    material: key,
    powder_grams: readMass(powder.input.value, state.mass) || undefined,
    step_grams: STEP_GRAMS,
    repeats: filled,
  };
}

async function reckon(result, body) {
  if (body === null) return refill(result);
  try {
    const answer = await post("/v1/uptake-tests", body);
    const said = ({ typical, low, high }) =>
      t("window.learned", { typical: show(typical, 3), low: show(low, 3), high: show(high, 3) });
    refill(
      result,
      h("p", { class: "verdict" }, said(answer.measured)),
      h("p", {}, t("uptake.before", { prior: said(answer.prior), combined: said(answer.combined) })),
      ...answer.notes.map(({ text }) => h("p", {}, text)),
      button(t("save.keep"), (event) => keepTest(body, result, event.currentTarget)),
    );
  } catch (error) {
    refill(result, trouble(error));
  }
  return undefined;
}

async function keepTest(body, result, button) {
  const path = `/v1/materials/${body.material}/uptake-test`;
  try {
    try {
      await put(path, body, { "If-None-Match": "*" });
    } catch (error) {
      if (!(error instanceof Problem && error.code === "stale")) throw error;
      const { tag } = await getTagged(path);
      await put(path, body, { "If-Match": tag });
    }
    button.textContent = t("save.kept");
    await loadWindow();
  } catch (error) {
    result.append(trouble(error));
  }
}
