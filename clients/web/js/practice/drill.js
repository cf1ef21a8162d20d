/** A lap or a single pass: a deal, the exchanges made with it, how they are graded, its clock, its line in the log. */

import { nameOf } from "../cards/shelf.js";
import { COURTESY, EXCHANGES, PASS_SIZE } from "../shared/rounds.js";
import { foreign, post } from "../shared/service.js";
import { JOKER, inOrder, isKind, without } from "../tiles/kinds.js";

export const RACK_SIZE = 14;
export const LOG_VERSION = 1;
const CLIENT = "web";
// The longest time the service takes for a pass; over a day nobody was choosing tiles.
const LONGEST_S = 86_400;

/** A lap under way; it holds only plain values, so that it can be kept at every step. */
export class Lap {
  /**
   * @param {{deal: {seed: number, index: number, rack: string[], heap: string[]}, card: string|Object,
   *   rounds: string[], at: string, name?: string, target?: number|null, timed?: boolean, seen?: string[]|null,
   *   left?: number|null, table?: Object|null, exchanges?: Object[]}} kept `name` is the card's, `target` in
   *   seconds; of a single pass `seen` are the own tiles passed before and `left` the exchanges left in the drill
   *   it comes from; `table` is how a table of careful players stands, by the service; null: a heap.
   */
  constructor(kept) {
    const { deal, card, rounds, at, name = nameOf(card), target = null, timed = true } = kept;
    const { seen = null, left = null, table = null, exchanges = [] } = kept;
    Object.assign(this, { deal, card, rounds, at, name, target, timed, seen, left, table, exchanges });
  }

  get single() {
    return this.seen !== null;
  }

  /** Seconds of the passes made so far. */
  get seconds() {
    return this.exchanges.reduce((sum, { seconds }) => sum + (seconds ?? 0), 0);
  }

  /** The tiles held, in the fixed order. */
  get rack() {
    let rack = this.deal.rack;
    for (const { given, received } of this.exchanges) rack = [...without(rack, given), ...(received ?? [])];
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
   * not depend on earlier choices; only as many of them as were given come in, the rest go on unseen. After a
   * single pass nothing comes in. At a table the service says what comes in, and which round is next.
   * @throws {ServiceError} of a table; nothing is passed then.
   */
  async exchange(given, blind, seconds) {
    const start = PASS_SIZE * this.exchanges.length;
    const made = { round: this.round, given: inOrder(given), blind };
    let received = this.single ? null : this.deal.heap.slice(start, start + given.length);
    if (this.table) received = await this.ask([...this.exchanges, made]);
    const timed = this.timed && seconds <= LONGEST_S ? seconds : null;
    this.exchanges.push({ ...made, received, seconds: timed });
    return received;
  }

  async ask(made) {
    const exchanges = made.map(({ round, given, blind }) => ({ round, given, blind }));
    const { seed, index } = this.deal;
    this.table = await post("v1/tables", { seed, index, card: this.card, exchanges });
    this.rounds = [...exchanges.map(({ round }) => round), ...this.table.rounds.slice(0, 1)];
    return this.table.received.at(-1);
  }

  /** Whether the second Charleston may be stopped now. */
  get mayStop() {
    return this.table?.rounds.length > 1 && this.round !== COURTESY;
  }

  stop() {
    this.rounds = this.rounds.with(-1, COURTESY);
  }

  /** Why a courtesy pass of so many tiles is too much for the player across, if it is. */
  tooMany(count) {
    const most = this.round === COURTESY ? (this.table?.most ?? PASS_SIZE) : PASS_SIZE;
    return count > most ? [`The player across wishes for no more than ${most}.`] : [];
  }

  /** The lap as `v1/reviews` takes it. */
  get record() {
    const record = { card: this.card, rack: inOrder(this.deal.rack), exchanges: this.exchanges };
    if (!this.single) return { ...record, drill: !this.table };
    return { ...record, drill: this.left !== null, seen: this.seen, follow: (this.left ?? 1) - 1 };
  }

  /** The lap's line in the log, as the terminal writes it. */
  line(result) {
    return {
      threepass_log: LOG_VERSION,
      at: this.at,
      client: CLIENT,
      card: this.name,
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

/** The clock of a lap: it can be held, and it is read pass by pass. */
export class Watch {
  /** @param {number} before Seconds of this pass already counted. */
  constructor(before = 0, clock = () => performance.now() / 1000) {
    this.before = before;
    this.since = null;
    this.clock = clock;
  }

  get running() {
    return this.since !== null;
  }

  run() {
    this.since ??= this.clock();
  }

  hold() {
    if (this.since !== null) this.before += this.clock() - this.since;
    this.since = null;
  }

  /** Seconds of this pass so far, to a thousandth. */
  read() {
    const seconds = this.before + (this.since === null ? 0 : this.clock() - this.since);
    return Math.round(seconds * 1000) / 1000;
  }

  /** Return the seconds of this pass and begin the next at zero; a watch that runs goes on running. */
  take() {
    const seconds = this.read();
    this.before = 0;
    if (this.since !== null) this.since = this.clock();
    return seconds;
  }
}

/**
 * Return the first deal that fits, from an index on, and its rounds; or null with how many were tried.
 * @throws {ServiceError}
 */
export async function fetchDeal({ card, seed, start, rounds, difficulty, family, kind, round }, options) {
  const any = [...EXCHANGES, COURTESY];
  if (kind === "single") rounds = [round || any[start % any.length]];
  if (kind === "table") rounds = any.slice(0, 1);
  const how = kind === "laps" ? { drill: { exchanges_left: rounds.length }, heap: true } : { round: rounds[0] };
  const wish = { seed, start, difficulty, card, family: family || null, ...how };
  const answer = await post("v1/deals", wish, options);
  if (!Array.isArray(answer.deals)) throw foreign();
  if (!answer.deals.length) return { deal: null, tried: answer.tried };
  const { index, rack } = answer.deals[0];
  const heap = answer.deals[0].heap ?? [];
  const right =
    Number.isInteger(index) &&
    rack?.length === RACK_SIZE &&
    (kind !== "laps" || heap.length >= PASS_SIZE * rounds.length) &&
    [...rack, ...heap].every(isKind) &&
    !heap.includes(JOKER);
  if (!right) throw foreign();
  // No more of the heap is kept than may come in.
  return { deal: { seed, index, rack, heap: heap.slice(0, PASS_SIZE * rounds.length) }, rounds };
}

/**
 * Return the review of one record, and the session of that record alone.
 * @throws {ServiceError}
 */
export async function fetchReview(record, options) {
  const answer = await post("v1/reviews", { records: [record] }, options);
  const review = answer.reviews?.[0];
  if (!review?.kept || !answer.session) throw foreign();
  return { review, session: answer.session };
}
