// What a maker types becomes a number, and a number becomes what a maker reads.

import assert from "node:assert/strict";
import { test } from "node:test";

import { fromGrams, readMass, readNumber, show, showChange, showMass, toGrams } from "../../../api/page/modules/numbers.js";
import { takeMass } from "../../../api/page/modules/mass.js";

test("points and commas are read as a maker means them", () => {
  const typed = {
    12.5: 12.5,
    "12,5": 12.5,
    "1.250,5": 1250.5,
    "1,250.5": 1250.5,
    " 30 % ": 30,
    "110 g": 110,
    "1'200": 1200,
    "0,125": 0.125,
  };
  for (const [text, number] of Object.entries(typed)) assert.equal(readNumber(text), number, text);
});

test("an empty field is no number, and what is no number is none", () => {
  for (const text of ["", "  ", null, undefined]) assert.equal(readNumber(text), null);
  for (const text of ["2o", "--1", "-3", "1,250", "1e3", "1/2", "a"]) assert.ok(Number.isNaN(readNumber(text)), text);
});

test("no decimals are shown that say nothing", () => {
  assert.equal(show(12.5), "12.5");
  assert.equal(show(12), "12");
  assert.equal(show(0.126), "0.13");
  assert.equal(show(null), "–");
  assert.equal(showChange(1.25), "+1.25");
  assert.equal(showChange(-1.25), "−1.25");
});

test("ounces go to grams and back", () => {
  for (const grams of [1, 28.35, 453.59, 1200]) {
    assert.ok(Math.abs(toGrams(fromGrams(grams, "oz"), "oz") - grams) < 0.02, String(grams));
    assert.equal(toGrams(fromGrams(grams, "g"), "g"), grams);
  }
  assert.equal(showMass(28.349523125, "oz"), "1 oz");
  assert.equal(showMass(1200.456, "g"), "1200.46 g");
});

test("a mass with a g behind it is in grams, whatever the field is in", () => {
  assert.equal(readMass("12 g", "oz"), 12);
  assert.equal(readMass("12", "oz"), toGrams(12, "oz"));
  assert.equal(readMass("12,5", "g"), 12.5);
  assert.equal(readMass("", "oz"), null);
  assert.ok(Number.isNaN(readMass("a bit", "oz")));
});

test("what was typed in grams stays as heavy when ounces are taken, and comes back", () => {
  const state = {
    mass: "g",
    weigh: { batch: "500", bar: "", step: "0.1" },
    bowl: { grams: "218,5", step: 0.1, lost: "a bit" },
    record: { net_grams: "85", weighed: { kaolin: "40" } },
    drying: { bars: [{ rows: [{ hours: "24", grams: "110" }, {}], final: "" }] },
  };
  takeMass(state, "oz");
  assert.equal(state.weigh.batch, "17.637");
  assert.equal(state.bowl.lost, "a bit");
  assert.equal(state.weigh.bar, "");
  for (const typed of [state.record.net_grams, state.record.weighed.kaolin, state.drying.bars[0].rows[0].grams])
    assert.ok(Number(typed) < 5);
  takeMass(state, "g");
  for (const [typed, grams] of [
    [state.weigh.batch, 500],
    [state.bowl.grams, 218.5],
    [state.bowl.step, 0.1],
    [state.record.weighed.kaolin, 40],
    [state.drying.bars[0].rows[0].grams, 110],
  ])
    assert.ok(Math.abs(Number(typed) - grams) < 0.02, typed);
});
