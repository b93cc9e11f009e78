// The one place that knows which optional parts this server has.

import { get } from "./api.js";

let known = { notebook: false };

export async function loadOffers() {
  known = await get("/static/offers.json");
}

export const offers = () => known;
