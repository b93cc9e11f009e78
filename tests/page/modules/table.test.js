// A pasted table becomes lines of a recipe, whatever stands between its columns.

import assert from "node:assert/strict";
import { test } from "node:test";

import { readTable } from "../../../api/page/modules/table.js";

const LINES = [
  { typed: "Kaolin", amount: "20" },
  { typed: "Betaine 30", amount: "30,5" },
];

for (const [name, text] of Object.entries({
  tabs: "material\tpercent\nKaolin\t20\nBetaine 30\t30,5",
  semicolons: "Material;Percent\nKaolin;20\nBetaine 30;30,5 %",
  "spaces, without a header": "Kaolin 20\nBetaine 30  30,5 %\n\n",
  "a quoted decimal comma": 'material,percent\nKaolin,20\nBetaine 30,"30,5"',
  "a decimal comma between commas": "material,percent\nKaolin,20\nBetaine 30,30,5",
  "a row of the total": "material;percent\nKaolin;20\nBetaine 30;30,5\nTotal;50,5",
}))
  test(`with ${name}`, () => {
    const { unit, lines, totals } = readTable(text);
    assert.deepEqual({ unit, lines }, { unit: "percent", lines: LINES });
    assert.equal(totals, Number(/total/i.test(text)));
  });

test("grams are told by the header or by the amounts", () => {
  assert.equal(readTable("material,grams\nKaolin,20").unit, "grams");
  assert.equal(readTable("Kaolin 20 g").unit, "grams");
});

test("a name may hold a comma", () => {
  const [line] = readTable('ingredient;percent\n"Oats, ground";5').lines;
  assert.deepEqual(line, { typed: "Oats, ground", amount: "5" });
});

test("text that is no table has no lines", () => {
  assert.deepEqual(readTable("Good day to you").lines, []);
});
