import assert from "node:assert/strict";
import { test } from "node:test";

import { walk } from "../../../api/page/modules/weigh/order.js";

test("what a phase needs is weighed before its first step, and nothing is left out", () => {
  const sheet = {
    lines: [
      { material: "oil", phase: "A" },
      { material: "clay", phase: "B" },
      { material: "acid", phase: "A" },
      { material: "salt", phase: "C" },
    ],
    steps: [
      { id: "ready", phase: null },
      { id: "stir", phase: "A" },
      { id: "knead", phase: "B" },
    ],
  };
  assert.deepEqual(
    walk(sheet).map(({ key }) => key),
    ["step ready null", "oil", "acid", "step stir A", "clay", "step knead B", "salt"],
  );
});
