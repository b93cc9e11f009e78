// The one place of a picture with the same content in words.

import { h, uniqueId } from "../dom.js";

/** How wide a picture is drawn, so that its words stay readable on a phone. */
export const drawnWidth = () => (matchMedia("(max-width: 40rem)").matches ? 330 : 640);

/** A picture, its title and its words; whoever does not see the picture hears the words. */
export function figure(title, picture, ...words) {
  const id = uniqueId("figure");
  picture.setAttribute("role", "img");
  picture.setAttribute("aria-labelledby", id);
  return h(
    "figure",
    { class: "figure" },
    h("figcaption", { id }, title),
    picture,
    h("div", { class: "figure-words" }, words),
  );
}
