// The one place that asks for the correction and hands what comes back to the page.

import { post, Problem, Unreachable } from "../api.js";
import { announce, keepFocus } from "../dom.js";
import { clearComplaints, complainAll, faultOf } from "../fields.js";
import { learn } from "../names.js";
import { correctionOf, Unreadable } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../known.js";
import { drawAnswer, drawRefusal, drawSilence } from "../answer/view.js";
import { reportSaid } from "./happened.js";

let asking = null;
let shown = null;
/** @type {(near?: boolean) => boolean} */
let giveBack = () => false;

/** Ask with what is entered now; an older question that is still open is dropped, and what is answered is not asked again. */
export async function ask(place) {
  clearComplaints();
  let body;
  try {
    body = correctionOf(state, {
      unknown: t("dough.which"),
      empty: t("dough.no_amount"),
      number: faultOf,
    });
  } catch (error) {
    if (!(error instanceof Unreadable)) throw error;
    drop();
    markStale(place, false);
    drawRefusal(place, { detail: t("answer.unreadable"), homeless: complainAll(error.errors) });
    return;
  }
  const asked = JSON.stringify(body);
  const said = [state.recipe.name, reportSaid(state.report)].filter(Boolean).join(": ");
  if (asked === shown && place.childElementCount) return;
  drop();
  asking = new AbortController();
  const { signal } = asking;
  if (!place.childElementCount && state.answered) await drawKept(place);
  markStale(place, true);
  try {
    const answer = await post("/v1/corrections", body, { signal });
    await learn(answer.recipe.lines.map((line) => line.material));
    if (signal.aborted) return;
    state.answered = { body, answer, said };
    state.next = answer.recipe;
    shown = asked;
    drawAnswer(place, state.answered);
    announce(t(`answer.announce.${answer.status}`, { count: answer.changes.length }));
    keep();
  } catch (error) {
    if (signal.aborted) return;
    if (error instanceof Unreachable) drawSilence(place, () => ask(place));
    else if (error instanceof Problem)
      drawRefusal(place, { detail: error.body.detail, problem: error.body, homeless: complainAll(error.errors) });
    else throw error;
  } finally {
    if (!signal.aborted) markStale(place, false);
  }
}

/** Drop the question that is open, and take the answer away: nothing is reported any more. */
export function askNothing(place) {
  drop();
  markStale(place, false);
  drawAnswer(place, null);
}

/** What was answered last, until the server answers again. */
async function drawKept(place) {
  await learn(state.answered.answer.recipe.lines.map((line) => line.material));
  drawAnswer(place, state.answered);
}

function drop() {
  asking?.abort();
  shown = null;
  state.next = null;
}

/** Dim the answer that stands there and put it out of use until the new one comes. */
function markStale(place, stale) {
  if (stale && !place.inert) giveBack = keepFocus(place);
  place.classList.toggle("is-stale", stale);
  place.inert = stale;
  place.setAttribute("aria-busy", String(stale));
  if (!stale) giveBack();
}
