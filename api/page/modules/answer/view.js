// The one place that puts the answer together: the scale, what to do now, the figures, what to watch, what is open, the rest.

import { h, refill } from "../dom.js";
import { state } from "../state.js";
import { t } from "../texts.js";
import { reportSaid } from "../bench/happened.js";
import { bowlPart } from "./bowl.js";
import { advicePart, questionsPart } from "./first.js";
import { limitsPart } from "./limits.js";
import { nextPart } from "./next.js";
import { picturesPart, scalePart } from "./pictures.js";
import { refusalPart } from "./refusal.js";
import { specialPart, wordsPart } from "./words-part.js";
import { stopBox } from "../trouble.js";

let bench = null;

/** Tell the answer which conversation it belongs to. */
export function onAnswer(of) {
  ({ bench } = of);
}

/** Draw an answer; null takes it away. */
export function drawAnswer(place, answer) {
  place.hidden = answer === null;
  place.closest(".talk")?.classList.toggle("has-answer", answer !== null);
  if (answer === null) return refill(place);
  refill(
    place,
    h("h2", { id: "answer-title", tabindex: "-1" }, t(`answer.title.${answer.status}`)),
    h("p", { class: "answers-to" }, [state.recipe.name, reportSaid(state.report)].filter(Boolean).join(": ")),
    scalePart(answer),
    advicePart(answer),
    bowlPart(),
    nextPart(answer, bench),
    specialPart(answer),
    questionsPart(answer, bench),
    limitsPart(answer, bench),
    picturesPart(answer),
    wordsPart(answer),
  );
  return place;
}

/** Say why there is no answer, and what comes nearest where the server knows. */
/** @type {(place: any, refused: { detail: string, problem?: any, homeless: any[] }) => void} */
export function drawRefusal(place, { detail, problem, homeless }) {
  place.hidden = false;
  place.closest(".talk")?.classList.add("has-answer");
  refill(
    place,
    h(
      "h2",
      { id: "answer-title", tabindex: "-1" },
      t(problem?.code === "no-recipe-fits" ? "refusal.nothing_fits" : "refusal.title"),
    ),
    refusalPart({ detail, problem, homeless }, bench),
    advicePart({ advice: problem?.advice ?? [] }),
  );
}

/** Say that the server gives no answer. */
export function drawSilence(place, again) {
  place.hidden = false;
  place.closest(".talk")?.classList.add("has-answer");
  refill(
    place,
    h("h2", { id: "answer-title", tabindex: "-1" }, t("server.silent")),
    stopBox(t("server.silent_help")),
    h("button", { type: "button", class: "primary", onclick: again }, t("words.again")),
  );
}
