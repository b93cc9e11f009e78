import assert from "node:assert/strict";
import { test } from "node:test";

import { bodyOf, put } from "../../../api/page/modules/plan/body.js";

test("values go to their paths, what is empty goes nowhere", () => {
  const fields = ["recipe", "per_bar.wrap", "wishes.market", "factor"].map((at) => ({ at }));
  const values = { recipe: { lines: [] }, "per_bar.wrap": 0.2, "wishes.market": "eu", factor: null };
  assert.deepEqual(bodyOf(fields, values), { recipe: { lines: [] }, per_bar: { wrap: 0.2 }, wishes: { market: "eu" } });
});

test("numbers in a path stand for places of a list", () => {
  const body = {};
  put(body, "recipes.1", "b");
  put(body, "recipes.0", "a");
  assert.deepEqual(body, { recipes: ["a", "b"] });
});

test("a batch without a recipe is left out", () => {
  const fields = [0, 1].flatMap((place) => ["recipe", "batch_grams"].map((at) => ({ at: `batches.${place}.${at}` })));
  const values = { "batches.0.recipe": "r", "batches.0.batch_grams": 500, "batches.1.batch_grams": 300 };
  assert.deepEqual(bodyOf(fields, values), { batches: [{ recipe: "r", batch_grams: 500 }] });
});
