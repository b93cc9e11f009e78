// The one place of a picture with the same content in words.

import { h, uniqueId } from "../dom.js";

/** A picture, its title and its words; whoever does not see the picture hears the words. */
export function figure(title, picture, ...words) {
  const id = uniqueId("figure");
  picture.setAttribute("role", "img");
  picture.setAttribute("aria-labelledby", id);
  return h("figure", { class: "figure" }, h("figcaption", { id }, title), picture, h("div", { class: "figure-words" }, words));
}
