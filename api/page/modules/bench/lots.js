// The one place where a line is told which delivery it comes from.

import { get } from "../api.js";
import { button, refill } from "../dom.js";
import { offers, t } from "../known.js";

/** Fill a place with the lots kept of a line's material; onchosen is told when another is taken, or none. */
export async function drawLotsOf(line, place, onchosen) {
  if (!offers().notebook) return;
  const { items } = await get(`/v1/materials/${line.key}/lots?limit=50`).catch(() => ({ items: [] }));
  refill(place, ...items.map(({ lot }) => lotButton(lot, line, onchosen)));
}

function lotButton(lot, line, onchosen) {
  const taken = line.lot === lot;
  return button(
    t("dough.lot", { lot }),
    () => {
      if (taken) delete line.lot;
      else line.lot = lot;
      onchosen();
    },
    { class: "segment", translate: "no", "aria-pressed": String(taken) },
  );
}
