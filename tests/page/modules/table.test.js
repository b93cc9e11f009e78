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

test("ounces are told by the header or by the amounts", () => {
  assert.equal(readTable("material;oz\nKaolin;12").unit, "ounces");
  assert.equal(readTable("material,ounces\nKaolin,12").unit, "ounces");
  assert.deepEqual(readTable("Kaolin 3.5 oz\nBetaine 30;12 oz"), {
    unit: "ounces",
    lines: [
      { typed: "Kaolin", amount: "3.5" },
      { typed: "Betaine 30", amount: "12" },
    ],
    totals: 0,
  });
});

test("an amount that may have thousands or decimals is never lost: its column tells, or it stays to be asked about", () => {
  const amounts = (text) => readTable(text).lines.map(({ amount }) => amount);
  assert.deepEqual(amounts("SCI powder\t1,250\nKaolin\t12,5"), ["1.25", "12,5"]);
  assert.deepEqual(amounts("SCI powder\t1,250\nKaolin\t12.5"), ["1250", "12.5"]);
  assert.deepEqual(amounts("SCI powder\t1,250\nKaolin\t125"), ["1,250", "125"]);
  assert.deepEqual(amounts("SCI powder\t1,250\nKaolin\t0,125\nBetaine 30\t1.5"), ["1,250", "0,125", "1.5"]);
});

test("a name may hold a comma", () => {
  const [line] = readTable('ingredient;percent\n"Oats, ground";5').lines;
  assert.deepEqual(line, { typed: "Oats, ground", amount: "5" });
});

test("text that is no table has no lines", () => {
  assert.deepEqual(readTable("Good day to you").lines, []);
});
