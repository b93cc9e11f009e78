// The one place that knows what a material is called and what form it has.

import { get } from "./api.js";
import { state } from "./state.js";

const known = new Map();

/** Fetch the materials behind these keys that are not known yet; a key nobody knows keeps its own name. */
export async function learn(keys) {
  for (const material of state.materials) known.set(material.key, material);
  const missing = [...new Set(keys)].filter((key) => !known.has(key));
  await Promise.all(
    missing.map(async (key) => {
      try {
        remember(await get(`/v1/materials/${encodeURIComponent(key)}`));
      } catch {
        // The key itself is shown; the answer of the calculation names it if it is wrong.
      }
    }),
  );
}

export const remember = (material) => known.set(material.key, material);
export const nameOf = (key) => known.get(key)?.name ?? key.replaceAll("-", " ");
export const isKnown = (key) => known.has(key);

const KINDS = {
  powder: "powder",
  granule: "powder",
  flake: "powder",
  liquid: "liquid",
  paste: "liquid",
  soft_solid: "fat",
  hard_solid: "fat",
};

/** How a material is drawn: powder, liquid or fat. */
export const kindOf = (key) => KINDS[known.get(key)?.form] ?? "powder";

const ASKED = 60;
const SHOWN = 12;

/** Find materials, those of this recipe too, by any part of a name; those called so come before those that only contain it. */
export async function find(text, signal) {
  const { items } = await get(`/v1/materials?limit=${ASKED}&q=${encodeURIComponent(text)}`, { signal });
  items.forEach(remember);
  const wanted = text.trim().toLowerCase();
  const own = state.materials.filter(({ name }) => name.toLowerCase().includes(wanted));
  const rank = (material) => {
    const names = [material.name, material.key, ...(material.also ?? [])].map((name) => name.toLowerCase());
    if (names.includes(wanted)) return 0;
    if (names.some((name) => name.startsWith(wanted))) return 1;
    return names.some((name) => name.includes(wanted)) ? 2 : 3;
  };
  const others = items.filter(({ key }) => !own.some((one) => one.key === key));
  return [...own, ...others].sort((a, b) => rank(a) - rank(b)).slice(0, SHOWN);
}
