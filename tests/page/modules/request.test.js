// What the maker entered becomes the body of a call.

import assert from "node:assert/strict";
import { test } from "node:test";

import { batchGrams, bowlOf, giveUp, recipeOf, Unreadable, wishesOf } from "../../../api/page/modules/request.js";

const WORDS = { unknown: "which?", empty: "how much?", number: () => "no number" };
const entered = (lines, more = {}) => ({
  recipe: { name: "Mill Pond bar", unit: "percent", lines },
  wishes: {},
  shelf: [],
  materials: [],
  history: [],
  ...more,
});

test("lines become materials with their amounts and lots", () => {
  const state = entered([
    { key: "kaolin", amount: "20,5" },
    { key: "betaine-30", amount: "79.5", lot: "B-7" },
  ]);
  assert.deepEqual(recipeOf(state, WORDS), {
    name: "Mill Pond bar",
    lines: [
      { material: "kaolin", percent: 20.5 },
      { material: "betaine-30", percent: 79.5, lot: "B-7" },
    ],
  });
});

test("ounces are sent as grams, and what a recipe in ounces weighs is its batch", () => {
  const state = entered([{ key: "kaolin", amount: "3,5" }], { weigh: { batch: "" }, mass: "g" });
  state.recipe.unit = "ounces";
  assert.deepEqual(recipeOf(state, WORDS).lines, [{ material: "kaolin", grams: 99.2233 }]);
  assert.equal(batchGrams(state), 99.2233);
  assert.deepEqual(bowlOf(state, WORDS, 1), recipeOf(state, WORDS));
});

test("every field that cannot be sent is named at once, where it stands", () => {
  const state = entered([
    { key: null, amount: "1" },
    { key: "kaolin", amount: "" },
    { key: "water", amount: "2o" },
  ]);
  assert.throws(
    () => recipeOf(state, WORDS),
    (error) => {
      assert.ok(error instanceof Unreadable);
      assert.deepEqual(error.errors, [
        { where: "/recipe/lines/0/material", problem: "which?" },
        { where: "/recipe/lines/1/percent", problem: "how much?" },
        { where: "/recipe/lines/2/percent", problem: "no number" },
      ]);
      return true;
    },
  );
});

test("lines that are kept are wishes", () => {
  const lines = [
    { key: "kaolin", amount: "20", keep: true },
    { key: "water", amount: "80" },
  ];
  assert.deepEqual(wishesOf(entered(lines, { wishes: { market: "eu" } })), { market: "eu", fixed: ["kaolin"] });
  assert.equal(wishesOf(entered([])), undefined);
});

test("a wish is given up by its pointer, and what is left empty goes with it", () => {
  const state = entered([{ key: "kaolin", amount: "20", keep: true }], {
    wishes: { market: "eu", components: { "Oat/meal": { min: 3, max: null } } },
  });
  assert.equal(giveUp(state, "/wishes/components/Oat~1meal/min"), true);
  assert.deepEqual(state.wishes, { market: "eu" });
  assert.equal(giveUp(state, "/wishes/fixed/0"), true);
  assert.equal(state.recipe.lines[0].keep, false);
  assert.equal(giveUp(state, "/recipe/lines/0"), false);
});
