/** What practice asks of the service: a deal, and the grades of a lap. */

import { ServiceError, post } from "../shared/service.js";
import { JOKER, isKind } from "../tiles/kinds.js";
import { PASS_SIZE, RACK_SIZE } from "./rules.js";

/**
 * Return the first deal that fits, from an index on, or null with how many were tried.
 * @throws {ServiceError}
 */
export async function fetchDeal({ card, seed, start, rounds, difficulty }, options) {
  const wish = { seed, start, drill: { exchanges_left: rounds.length }, heap: true, difficulty, card };
  const answer = await post("v1/deals", wish, options);
  if (!Array.isArray(answer.deals)) throw foreign();
  if (!answer.deals.length) return { deal: null, tried: answer.tried };
  const { index, rack, heap } = answer.deals[0];
  const right =
    Number.isInteger(index) &&
    rack?.length === RACK_SIZE &&
    heap?.length >= PASS_SIZE * rounds.length &&
    [...rack, ...heap].every(isKind) &&
    !heap.includes(JOKER);
  if (!right) throw foreign();
  // No more of the heap is kept than may come in.
  return { deal: { seed, index, rack, heap: heap.slice(0, PASS_SIZE * rounds.length) }, tried: answer.tried };
}

/**
 * Return the review of one record and what the log keeps of it.
 * @throws {ServiceError}
 */
export async function fetchReview(record, options) {
  const answer = await post("v1/reviews", { records: [record] }, options);
  const review = answer.reviews?.[0];
  if (!review || !answer.session) throw foreign();
  const result = {
    given_up: review.given_up,
    share_within_resolution: answer.session.within_resolution,
    tiles_away: review.tiles_away,
    seconds: review.seconds,
    pace: review.pace,
  };
  return { review, result };
}

const foreign = () => new ServiceError("foreign", "The answer is not one of threepass.");
