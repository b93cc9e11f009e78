// The one place of the bench tests of finished bars: written down with their dough, told in words.

import { h } from "../dom.js";
import { select } from "../fields.js";
import { show } from "../numbers.js";
import { benchTests, t } from "../known.js";
import { changeDough } from "./change.js";
import { openForm } from "./form.js";

/** What a dough calls a test, and by which id its words are found. */
const TESTS = { mush: "mush", wear: "wear", cracks: "use-cracks", lather: "lather", ph: "bar-ph" };
const BARS = 3;

const wordsOf = (test) => benchTests().find(({ id }) => id === TESTS[test]) ?? { title: test, text: "" };

/** Ask for a figure a bar, and keep the test with its dough. */
export function openBarTest(id, again) {
  let [test] = Object.keys(TESTS);
  const how = h("p", { class: "hint" }, wordsOf(test).text);
  const which = select({
    label: t("bar_test.which"),
    chosen: test,
    options: Object.keys(TESTS).map((one) => [one, wordsOf(one).title]),
    onchoose: (one) => {
      test = one;
      how.textContent = wordsOf(one).text;
    },
  });
  const bars = Array.from({ length: BARS }, (_, place) => ({
    name: String(place),
    label: t("bar_test.bar", { number: place + 1 }),
    pointer: `/bar_tests/values/${place}`,
    needed: place === 0,
  }));
  openForm(t("bar_test.title"), {
    address: ["bar", id],
    above: [h("p", {}, t("bar_test.about")), which, how],
    fields: [
      ...bars,
      { name: "dried_days", label: t("bar_test.days"), pointer: "/bar_tests/dried_days" },
      { name: "notes", label: t("save.notes"), kind: "text", pointer: "/bar_tests/notes" },
    ],
    keepIt: ({ dried_days, notes, ...values }) => {
      const tested = { test, values: Object.values(values).filter((one) => one !== null), dried_days, notes };
      return changeDough(id, ({ bar_tests: tests = [] }) => ({ bar_tests: [...tests, tested] }));
    },
    again,
  });
}

/** A test that was kept: its figures, a bar each. */
export const testSaid = ({ test, values }) =>
  `${wordsOf(test).title} ${values.map((one) => show(one)).join(", ")} ${t(`bar_test.unit.${test}`)}`.trim();

/** What the bars of a version gave, beside the version it comes from. */
export const versionTestSaid = ({ test, mean, bars, against_last: against }) =>
  [
    t("bar_test.mean", { test: wordsOf(test).title, mean: show(mean), unit: t(`bar_test.unit.${test}`), bars }),
    against ? t(`bar_test.against.${against}`) : "",
  ]
    .filter(Boolean)
    .join(", ");
