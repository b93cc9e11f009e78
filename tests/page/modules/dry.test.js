import assert from "node:assert/strict";
import { test } from "node:test";

import { localNow, madeOn, weighingsOf, withRoom } from "../../../api/page/modules/dry/rows.js";

const rows = [
  { when: "2026-11-20T08:00", hours: "", grams: "78,4" },
  { when: "", hours: "", grams: "" },
  { when: "2026-11-21T20:30", hours: "", grams: "74.6" },
];

test("dates become hours since the first", () => {
  assert.deepEqual(weighingsOf(rows, "date"), [
    { place: 0, hours: 0, grams: 78.4 },
    { place: 2, hours: 36.5, grams: 74.6 },
  ]);
  assert.equal(madeOn(rows, "date"), "2026-11-20");
  assert.equal(madeOn(rows, "hours"), undefined);
});

test("hours are taken as they are written, half a row is none", () => {
  const written = [
    { hours: "0", grams: "80" },
    { hours: "6,5", grams: "" },
    { hours: "12", grams: "7x" },
    { hours: "24", grams: "77" },
  ];
  assert.deepEqual(
    weighingsOf(written, "hours").map(({ place }) => place),
    [0, 3],
  );
});

test("the last row is empty, and now is the time of this place", () => {
  const room = withRoom([{ when: "", hours: "0", grams: "80" }]);
  assert.equal(room.length, 4);
  assert.equal(withRoom([...room.slice(0, 3), { when: "", hours: "4", grams: "" }]).length, 5);
  assert.match(localNow(new Date(2026, 10, 28, 7, 5)), /2026-11-28T07:05/);
});
