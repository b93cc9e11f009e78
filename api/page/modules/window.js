// The one place that knows what the maker's past doughs have taught, where the server keeps them.

import { get } from "./api.js";
import { offers } from "./known.js";

let windows = [];
let doughs = 0;

/** Read what the notebook has taught so far. */
export async function loadWindow() {
  if (!offers().notebook) return;
  try {
    const answer = await get("/v1/window");
    windows = answer.by_method;
    doughs = answer.doughs;
  } catch {
    windows = [];
  }
}

/** The window of a method on the wetting scale: low, centre, high, and how many doughs it rests on; null where nobody knows. */
export function learned(method = "hand") {
  const found = windows.find((one) => one.method === method);
  return found ? { ...found, doughs } : null;
}
