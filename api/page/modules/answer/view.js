// The one place that puts the answer together: the scale, what to do now, the figures, what to watch, what is open, the rest.

import { button, h, refill } from "../dom.js";
import { t } from "../known.js";
import { bowlPart } from "./bowl.js";
import { advicePart, questionsPart } from "./first.js";
import { limitsPart } from "./limits.js";
import { nextPart } from "./next.js";
import { picturesPart } from "./pictures.js";
import { wettingPicture } from "../pictures/wetting.js";
import { refusalPart } from "./refusal.js";
import { specialPart, wordsPart } from "./words-part.js";
import { stopBox } from "../trouble.js";

let bench = null;

/** Tell the answer which conversation it belongs to. */
export function onAnswer(of) {
  ({ bench } = of);
}

/**
 * Draw an answer; null takes it away.
 * @param {any} place
 * @param {{ answer: any, body: any, said: string } | null} answered the answer, what was asked, and whose it is
 */
export function drawAnswer(place, answered) {
  stand(place, answered !== null);
  if (answered === null) return refill(place);
  const { answer, body, said } = answered;
  const stays = answer.status === "unchanged";
  refill(
    place,
    h("h2", { id: "answer-title", tabindex: "-1" }, t(`answer.title.${answer.status}`)),
    h("p", { class: "answers-to" }, said),
    h("div", { class: "part part-scale" }, wettingPicture(answered)),
    stays ? advicePart(answer) : null,
    bowlPart(),
    nextPart(answered, bench),
    stays ? null : advicePart(answer),
    specialPart(answer),
    questionsPart(answer, bench),
    limitsPart(answer, bench),
    picturesPart(answer, body),
    wordsPart(answer),
  );
  return place;
}

function stand(place, there) {
  place.hidden = !there;
  place.closest(".talk")?.classList.toggle("has-answer", there);
}

/** Say why there is no answer, and what comes nearest where the server knows. */
/** @type {(place: any, refused: { detail: string, problem?: any, homeless: any[] }) => void} */
export function drawRefusal(place, { detail, problem, homeless }) {
  stand(place, true);
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

/** Say that the server gives no answer; what it answered last stays readable, marked as what it is. */
export function drawSilence(place, again) {
  const old = place.querySelector(".answers-to")?.textContent;
  stand(place, true);
  place.querySelector(".silence")?.remove();
  const silence = h(
    "div",
    { class: "silence part" },
    h("h2", { tabindex: "-1" }, t("server.silent")),
    stopBox(t("server.silent_help"), old ? t("server.old", { said: old }) : ""),
    button(t("words.again"), again, { class: "primary" }),
  );
  if (old) place.prepend(silence);
  else refill(place, silence);
}
