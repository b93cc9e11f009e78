// The one place of how the page says that a call did not work: beside the field where it can, otherwise in a box.

import { Problem, Unreachable } from "./api.js";
import { h, icon } from "./dom.js";
import { complainAll } from "./fields.js";
import { Unreadable } from "./request.js";
import { t } from "./known.js";

/** The box that stops the eye. */
export const stopBox = (...lines) =>
  h(
    "div",
    { class: "box box-stop", role: "alert" },
    icon("stop"),
    h(
      "div",
      {},
      lines.filter(Boolean).map((line) => h("p", {}, line)),
    ),
  );

/** Return the box for what went wrong; what is no answer of the server is thrown on. */
export function trouble(error, errors = error.errors) {
  if (error instanceof Unreachable) return stopBox(t("server.silent_help"));
  if (error instanceof Unreadable) return stopBox(t("dough.unfinished"));
  if (!(error instanceof Problem)) throw error;
  return stopBox(
    error.body.detail,
    ...complainAll(errors)
      .map(({ text }) => text)
      .filter((text) => text && !error.body.detail.includes(text)),
  );
}
