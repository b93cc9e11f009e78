// What is forgotten in the notebook comes back by one tap.

import { erase, getTagged } from "../api.js";
import { keepFocus } from "../dom.js";
import { t } from "../known.js";
import { trouble } from "../trouble.js";
import { offerUndo } from "../undo.js";

/** Erase a stored thing, draw anew, and offer to bring it back as it was. */
export async function forget(path, name, place, again, bringBack) {
  const giveBack = keepFocus(place);
  try {
    const { value, tag } = await getTagged(path);
    await erase(path, { "If-Match": tag });
    await again();
    giveBack();
    offerUndo(t("undo.line", { name }), async () => {
      await bringBack(value);
      await again();
    });
  } catch (error) {
    place.prepend(trouble(error));
  }
}
