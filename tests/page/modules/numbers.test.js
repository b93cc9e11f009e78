// What a maker types becomes a number, and a number becomes what a maker reads.

import assert from "node:assert/strict";
import { test } from "node:test";

import { fromGrams, readNumber, show, showChange, showMass, toGrams } from "../../../api/page/modules/numbers.js";

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
