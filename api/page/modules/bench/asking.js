// The one place that asks for the correction and hands what comes back to the page.

import { post, Problem, Unreachable } from "../api.js";
import { announce } from "../dom.js";
import { clearComplaints, complainAll } from "../fields.js";
import { learn } from "../names.js";
import { correctionOf, Unreadable } from "../request.js";
import { keep, state } from "../state.js";
import { t } from "../texts.js";
import { drawAnswer, drawRefusal, drawSilence } from "../answer/view.js";

let asking = null;

/** Ask with what is entered now; an older question that is still open is dropped. */
export async function ask(place) {
  asking?.abort();
  asking = new AbortController();
  const { signal } = asking;
  clearComplaints();
  state.next = null;
  markStale(place, true);
  let body;
  try {
    body = correctionOf(state, {
      unknown: t("dough.which"),
      empty: t("dough.no_amount"),
      number: t("dough.no_number"),
    });
  } catch (error) {
    if (!(error instanceof Unreadable)) throw error;
    const homeless = complainAll(error.errors);
    markStale(place, false);
    drawRefusal(place, { detail: t("answer.unreadable"), homeless });
    return;
  }
  try {
    const answer = await post("/v1/corrections", body, { signal });
    await learn(answer.recipe.lines.map((line) => line.material));
    if (signal.aborted) return;
    state.next = answer.recipe;
    drawAnswer(place, answer);
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

/** Dim the answer that stands there and put it out of use until the new one comes. */
function markStale(place, stale) {
  place.classList.toggle("is-stale", stale);
  place.inert = stale;
  place.setAttribute("aria-busy", String(stale));
}
