/** One lap: a deal, the exchanges made with it, and its line in the log. */

import { cardName } from "../cards/chooser.js";
import { inOrder, without } from "../tiles/kinds.js";
import { PASS_SIZE } from "./rules.js";

const LOG_VERSION = 1;
export const CLIENT = "web";
// The longest time the service takes for a pass; over a day nobody was choosing tiles.
const LONGEST_S = 86_400;

/** A lap under way; it holds only plain values, so that it can be kept at every step. */
export class Lap {
  /**
   * @param {{deal: {seed: number, index: number, rack: string[], heap: string[]}, card: string|Object,
   *   rounds: string[], at: string, exchanges?: Object[]}} kept
   */
  constructor({ deal, card, rounds, at, exchanges = [] }) {
    Object.assign(this, { deal, card, rounds, at, exchanges });
  }

  /** The tiles held, in the fixed order. */
  get rack() {
    let rack = this.deal.rack;
    for (const { given, received } of this.exchanges) rack = [...without(rack, given), ...received];
    return inOrder(rack);
  }

  get finished() {
    return this.exchanges.length === this.rounds.length;
  }

  /** The round to play next, or undefined once all are played. */
  get round() {
    return this.rounds[this.exchanges.length];
  }

  /**
   * Make a pass that the rules allow and return the tiles that came in.
   *
   * Each exchange takes the next three tiles off the heap, whatever was given, so that what comes later does
   * not depend on earlier choices; only as many of them as were given come in, the rest go on unseen.
   */
  exchange(given, blind, seconds) {
    const start = PASS_SIZE * this.exchanges.length;
    const received = this.deal.heap.slice(start, start + given.length);
    const timed = seconds <= LONGEST_S ? seconds : null;
    this.exchanges.push({ round: this.round, given: inOrder(given), received, blind, seconds: timed });
    return received;
  }

  /** The lap as `v1/reviews` takes it. */
  get record() {
    return { card: this.card, rack: inOrder(this.deal.rack), exchanges: this.exchanges, drill: true };
  }

  /** The lap's line in the log, as the terminal writes it. */
  line(result) {
    return {
      threepass_log: LOG_VERSION,
      at: this.at,
      client: CLIENT,
      card: cardName(this.card),
      seed: this.deal.seed,
      deal: this.deal.index,
      finished: this.finished,
      record: this.record,
      result,
    };
  }
}

/** The date and time as the log writes it. */
export const now = () => `${new Date().toISOString().slice(0, 19)}+00:00`;
