// The one place of what the doughs have taught: the window, what powders take up, what to measure next.

import { get } from "../api.js";
import { h, refill } from "../dom.js";
import { learn, nameOf } from "../names.js";
import { show } from "../numbers.js";
import { count, t } from "../known.js";
import { narrowingPicture } from "../pictures/narrowing.js";
import { trouble } from "../trouble.js";

const MOST_STEPS = 12;

/** Draw the window. */
export async function drawWindow(place) {
  try {
    const now = await get("/v1/window");
    const [hand] = [...now.by_method].sort((a, b) => b.doughs - a.doughs);
    const steps = await narrowed(now, hand.method);
    await learn(now.powders.map((powder) => powder.material));
    refill(
      place,
      narrowingPicture(steps, hand),
      h(
        "ul",
        { class: "plain pairs" },
        now.by_method.map((one) =>
          h(
            "li",
            {},
            h("span", {}, t(`method.${one.method}`)),
            ` ${show(one.centre, 2)} (${show(one.low, 2)} – ${show(one.high, 2)}), ${count("window.doughs", one.doughs)}`,
          ),
        ),
      ),
      ...now.notes.map(({ text }) => h("p", {}, text)),
      ...now.outliers.map(({ text }) => h("p", { class: "box box-warn" }, text)),
      now.measure_next ? h("p", { class: "hold-back" }, now.measure_next.text) : h("p", { hidden: true }),
      ...(now.powders.length
        ? [h("h2", {}, t("window.powders")), h("ul", { class: "plain" }, now.powders.map(powderItem))]
        : []),
    );
  } catch (error) {
    place.prepend(trouble(error));
  }
}

async function narrowed(now, method) {
  const all = now.doughs;
  const stride = Math.max(1, Math.ceil(all / MOST_STEPS));
  const counts = [...new Set([...Array.from({ length: Math.ceil(all / stride) }, (_, index) => index * stride), all])];
  return Promise.all(
    counts.map(async (count) => {
      const answer = count === all ? now : await get(`/v1/window?first=${count}`);
      return { count, ...answer.by_method.find((one) => one.method === method) };
    }),
  );
}

const powderItem = (powder) =>
  h(
    "li",
    {},
    h("strong", {}, nameOf(powder.material)),
    ` ${t("window.learned", { typical: show(powder.learned.typical, 3), low: show(powder.learned.low, 3), high: show(powder.learned.high, 3) })} `,
    h(
      "small",
      {},
      t("window.library", {
        typical: show(powder.prior.typical, 3),
        low: show(powder.prior.low, 3),
        high: show(powder.prior.high, 3),
      }),
    ),
  );
