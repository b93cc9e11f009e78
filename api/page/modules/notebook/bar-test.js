// The one place of the bench tests of finished bars: written down with their dough, told in words.

import { getTagged, put } from "../api.js";
import { button, h } from "../dom.js";
import { openSheet } from "../dialog.js";
import { faultOf, field, select } from "../fields.js";
import { readNumber, show } from "../numbers.js";
import { benchTests, t } from "../known.js";
import { trouble } from "../trouble.js";

/** What a dough calls a test, and by which id its words are found. */
const TESTS = { mush: "mush", wear: "wear", cracks: "use-cracks", lather: "lather", ph: "bar-ph" };
const BARS = 3;

const wordsOf = (test) => benchTests().find(({ id }) => id === TESTS[test]) ?? { title: test, text: "" };

/** Ask for a figure a bar, and keep the test with its dough. */
export function openBarTest(id, again) {
  const { body, close } = openSheet(t("bar_test.title"), { address: ["bar", id] });
  let [test] = Object.keys(TESTS);
  const bars = Array.from({ length: BARS }, (_, place) =>
    field({ label: t("bar_test.bar", { number: place + 1 }), small: true, pointer: `/bar_tests/values/${place}` }),
  );
  const days = field({ label: t("bar_test.days"), small: true, pointer: "/bar_tests/dried_days" });
  const notes = field({ label: t("save.notes"), inputmode: "text", pointer: "/bar_tests/notes" });
  const how = h("p", { class: "hint" }, wordsOf(test).text);
  const save = async () => {
    const [values, dried] = [bars.map(read).filter((one) => one !== null), read(days)];
    if (!values.length) return bars[0].complain(t("dough.no_amount"));
    if ([...values, dried].some(Number.isNaN)) return undefined;
    const tested = { test, values, dried_days: dried, notes: notes.input.value.trim() || null };
    try {
      const { value, tag } = await getTagged(`/v1/doughs/${id}`);
      const all = [...(value.bar_tests ?? []), tested];
      await put(`/v1/doughs/${id}`, { ...value, bar_tests: all }, { "If-Match": tag });
      await close();
      await again();
    } catch (error) {
      body.prepend(trouble(error));
    }
    return undefined;
  };
  body.append(
    h("p", {}, t("bar_test.about")),
    select({
      label: t("bar_test.which"),
      chosen: test,
      options: Object.keys(TESTS).map((one) => [one, wordsOf(one).title]),
      onchoose: (one) => {
        test = one;
        how.textContent = wordsOf(one).text;
      },
    }),
    how,
    h(
      "div",
      { class: "pair" },
      bars.map(({ box }) => box),
    ),
    days.box,
    notes.box,
    button(t("save.keep"), save, { class: "primary" }),
  );
}

/** The figure in a field; what is no number is said beside it. */
function read({ input, complain }) {
  const value = readNumber(input.value);
  complain(faultOf(input.value));
  return value;
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
