// Figures and days are written as the settings say, else as the browser's language does; what the page writes it reads.

import assert from "node:assert/strict";
import { afterEach, test } from "node:test";

import { bothOf, isDoubtful, readNumber, show, showChange, showMass } from "../../../api/page/modules/numbers.js";
import { asTyped, monthDay, writeAs, written } from "../../../api/page/modules/writing.js";

const SENTENCE = "12.5 g of lot A-1.2 on 2031-03-09, not 127.0.0.1 and no 2031-13-09";

afterEach(() => writeAs({}, "en"));

const LANGUAGES = {
  "de-DE": "12,5 g of lot A-1.2 on 09 Mar 2031, not 127.0.0.1 and no 2031-13-09",
  "en-GB": "12.5 g of lot A-1.2 on 09 Mar 2031, not 127.0.0.1 and no 2031-13-09",
  "en-US": "12.5 g of lot A-1.2 on Mar 09, 2031, not 127.0.0.1 and no 2031-13-09",
  "sv-SE": "12,5 g of lot A-1.2 on 2031-03-09, not 127.0.0.1 and no 2031-13-09",
  "ja-JP": "12.5 g of lot A-1.2 on 2031-03-09, not 127.0.0.1 and no 2031-13-09",
};

for (const [language, said] of Object.entries(LANGUAGES))
  test(`a sentence is written as in ${language}`, () => {
    writeAs({ decimal: null, day: null }, language);
    assert.equal(written(SENTENCE), said);
  });

test("a setting stands before the language, each by itself", () => {
  writeAs({ decimal: ",", day: "%Y-%m-%d" }, "en-US");
  assert.equal(written("1.5 g on 2031-03-09"), "1,5 g on 2031-03-09");
  writeAs({ decimal: ".", day: null }, "de-DE");
  assert.equal(written("1.5 g on 2031-03-09"), "1.5 g on 09 Mar 2031");
  writeAs({ decimal: null, day: "%b %d, %Y" }, "de-DE");
  assert.equal(written("1.5 g on 2031-03-09"), "1,5 g on Mar 09, 2031");
});

test("a day without its year keeps the order", () => {
  const short = (language) => (writeAs({}, language), monthDay("2031-03-09"));
  assert.deepEqual(["de-DE", "en-US", "sv-SE"].map(short), ["09 Mar", "Mar 09", "03-09"]);
});

test("figures carry the sign of the place", () => {
  writeAs({}, "de-DE");
  assert.deepEqual([show(12.256), showChange(-1.25), showMass(0.5, "g"), asTyped(50.1505)], [
    "12,26",
    "−1,25",
    "0,5 g",
    "50,1505",
  ]);
});

test("whatever the page writes it reads, and every number stays what it is", () => {
  for (const settings of [{}, { decimal: "," }, { decimal: "." }])
    for (const language of Object.keys(LANGUAGES)) {
      writeAs(settings, language);
      for (let step = 0; step < 4000; step += 1) {
        const number = Number((step * 0.731).toFixed(step % 5));
        assert.equal(readNumber(asTyped(number)), number, `${asTyped(number)} in ${language}`);
      }
    }
});

test("what could be either is asked where only the language tells, and read where a setting does", () => {
  const read = (settings, language) => {
    writeAs(settings, language);
    return ["1,250", "1.250"].map((text) => (isDoubtful(text) ? bothOf(text) : readNumber(text)));
  };
  assert.deepEqual(read({}, "en-GB"), [{ parted: "1.25", whole: "1250" }, 1.25]);
  assert.deepEqual(read({}, "de-DE"), [1.25, { parted: "1,25", whole: "1250" }]);
  assert.deepEqual(read({ decimal: "," }, "en-GB"), [1.25, 1250]);
  assert.deepEqual(read({ decimal: "." }, "de-DE"), [1250, 1.25]);
});

test("thousands stand in threes, or it is no number", () => {
  for (const [text, number] of Object.entries({ "1.250.500": 1250500, "1,250,500": 1250500, "1.250,5": 1250.5 }))
    assert.equal(readNumber(text), number, text);
  for (const text of ["1.2.3", "12,34.5", "1,2,3"]) assert.ok(Number.isNaN(readNumber(text)), text);
});
