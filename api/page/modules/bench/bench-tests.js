// The one place that explains the bench tests.

import { openSheet } from "../dialog.js";
import { h } from "../dom.js";
import { benchTests, t } from "../known.js";
import { testPicture } from "../pictures/tests.js";

/** Show the tests that tell the cases apart, each drawn and in words. */
export function openBenchTests() {
  const { body } = openSheet(t("happened.tests"), { address: ["tests"] });
  body.append(
    h("p", {}, t("happened.tests_about")),
    ...benchTests().map((test) =>
      h("section", { class: "bench-test" }, h("h3", {}, test.title), testPicture(test.id), h("p", {}, test.text)),
    ),
  );
}
