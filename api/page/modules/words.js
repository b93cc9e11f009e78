// The one place of the words for doughs, as the rules of the server have them.

import { get } from "./api.js";

let words = { items: [], degrees: [], signs: [], tests: [] };

export async function loadWords() {
  words = await get("/v1/feels");
}

export const feels = () => words.items;
export const degrees = () => words.degrees;
export const signs = () => words.signs;
export const benchTests = () => words.tests;
export const feelNamed = (feel) => words.items.find((item) => item.feel === feel);
export const degreeNamed = (degree) => words.degrees.find((item) => item.degree === degree);
