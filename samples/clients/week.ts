/* A shop's week against the server, with types that were generated from its /openapi.json and nothing else:

   npx openapi-typescript http://127.0.0.1:8000/openapi.json -o dough-advisor.ts
   npx tsc --strict --target es2022 --module nodenext week.ts && node week.js http://127.0.0.1:8000
*/
import type { components, paths } from "./dough-advisor.js";

declare const process: { argv: string[] };

type Recipe = components["schemas"]["Recipe"];
type Writing = { [P in keyof paths]: paths[P] extends { post: { requestBody: unknown } } ? P : never }[keyof paths];
type Asked<P extends Writing> = paths[P] extends {
  post: { requestBody: { content: { "application/json": infer Body } } };
}
  ? Body
  : never;
type Told<P extends Writing> = paths[P] extends { post: { responses: infer Answers } }
  ? Answers extends { 200: { content: { "application/json": infer Body } } }
    ? Body
    : Answers extends { 201: { content: { "application/json": infer Body } } }
      ? Body
      : never
  : never;

const server = process.argv[2] ?? "http://127.0.0.1:8000";

async function ask<P extends Writing>(path: P, body: Asked<P>): Promise<Told<P>> {
  const answer = await fetch(server + path, {
    method: "POST",
    headers: { "Content-Type": "application/json", Accept: "application/json" },
    body: JSON.stringify(body),
  });
  if (!answer.ok) {
    throw new Error(`${path}: ${answer.status} ${await answer.text()}`);
  }
  return (await answer.json()) as Told<P>;
}

const bar: Recipe = {
  name: "Sluice bar",
  lines: [
    { material: "isethionate-powder", percent: 47 },
    { material: "kaolin", percent: 18.1 },
    { material: "betaine-30", percent: 27 },
    { material: "glycerin", percent: 4 },
    { material: "jojoba-oil", percent: 3 },
    { material: "phenoxyethanol-blend", percent: 0.9 },
  ],
};

const corrected = await ask("/v1/corrections", { recipe: bar, report: { feel: "too_wet" } });
console.log(`corrected: ${corrected.changes.map((one) => `${one.material} ${one.change}`).join(", ")}`);

const swapped = await ask("/v1/substitutions", { recipe: bar, missing: "betaine-30", options_at_most: 2 });
console.log(`instead: ${swapped.options.map((one) => one.replacement).join(", ")}`);

const kept = await ask("/v1/doughs", { recipe: bar, report: { feel: "too_wet" }, made_on: "2031-05-04" });
console.log(`kept: ${kept.made_on}`);

const swept = await ask("/v1/sweeps", { task: "assessment", recipes: [bar, corrected.recipe] });
console.log(`swept: ${swept.answers.length}`);

const drafted = await ask("/v1/drafts", {
  wishes: { market: "eu", active: { min: 40, max: 50 } },
  shelf: [...bar.lines.map((line) => line.material), "sulfoacetate-powder", "rice-flour", "cetyl-alcohol"],
  options_at_most: 1,
});
console.log(`drafted: ${drafted.options.map((one) => one.recipe.lines.length > 0).join(", ")}`);
