/** A record while it is entered: a rack and passes, of which the last may be unfinished; and as text. */

import { COURTESY, EXCHANGES, allowsBlind, passFaults } from "../shared/rounds.js";
import { inOrder, isKind, readTiles, without } from "../tiles/kinds.js";

/** A record with nothing in it. */
export const emptyRecord = () => ({ rack: "", drill: false, passes: [] });

/** A pass with nothing in it. */
export const emptyPass = (round) => ({ round, given: [], blind: 0, received: [], time: "" });

/** The rack before a pass; after the last one, that at the end. */
export function rackBefore({ rack, passes }, at) {
  return inOrder(
    passes
      .slice(0, at)
      .reduce((held, { given, received }) => [...without(held, given), ...received], readTiles(rack).tokens),
  );
}

/** The round that commonly follows. */
export function nextRound(passes) {
  const last = passes.at(-1)?.round;
  if (last === undefined) return EXCHANGES[0];
  return EXCHANGES[EXCHANGES.indexOf(last) + 1] ?? COURTESY;
}

/** What is wrong with what was passed, as sentences; none when the rules allow it. */
export const givenFaults = (record, at) => {
  const { given, blind, round } = record.passes[at];
  return passFaults(given, blind, rackBefore(record, at), round);
};

/** Whether a pass is entered whole: what went, and as many that came. */
export const isWhole = (record, at) =>
  givenFaults(record, at).length === 0 &&
  record.passes[at].received.length === record.passes[at].given.length;

/** Seconds of a time as it is typed, `1:02.5` or `62`; null for none, undefined where it cannot be read. */
export function secondsOf(time) {
  const written = time.trim();
  if (written === "") return null;
  const [, minutes, seconds] = written.match(/^(?:(\d{1,3}):)?(\d{1,5}(?:\.\d+)?)$/) ?? [];
  return seconds === undefined ? undefined : 60 * Number(minutes ?? 0) + Number(seconds);
}

/**
 * Return the record as requests take it: passes up to the last that was begun.
 * @param {string|Object} card
 */
export function asRequest(record, card) {
  const begun = record.passes.filter(({ given, blind }) => given.length || blind);
  return {
    card,
    rack: record.rack,
    drill: record.drill,
    exchanges: begun.map(({ round, given, blind, received, time }, at) => ({
      round,
      given,
      received: at === begun.length - 1 && received.length === 0 && given.length ? null : received,
      ...(allowsBlind(round) ? { blind } : {}),
      seconds: secondsOf(time) ?? null,
    })),
  };
}

/** Return a record of the service as it is entered; null where it has not that shape. */
export function entered({ rack, drill = false, exchanges = [] }) {
  const tokens = (tiles) => (Array.isArray(tiles) ? tiles.filter(isKind) : readTiles(tiles ?? "").tokens);
  return {
    rack: Array.isArray(rack) ? rack.join(" ") : (rack ?? ""),
    drill,
    passes: exchanges.map(({ round, given, received, blind = 0, seconds = null }) => ({
      round,
      given: tokens(given),
      blind,
      received: tokens(received),
      time: seconds === null ? "" : timeOf(seconds),
    })),
  };
}

const timeOf = (seconds) => {
  const rest = Math.round((seconds % 60) * 1000) / 1000;
  return `${Math.floor(seconds / 60)}:${rest < 10 ? "0" : ""}${rest}`;
};

/** The record as people write it, a line a pass. */
export function asText({ rack, drill, passes }) {
  const lines = passes
    .filter(({ given, blind }) => given.length || blind)
    .map(({ round, given, blind, received, time }) => {
      const seconds = secondsOf(time);
      const went = [...given, ...(blind ? [`+${blind}`] : [])].join(" ");
      const came = received.length || !given.length ? received.join(" ") : "?";
      return `${round.replace("_", " ")}: ${went} > ${came}${seconds ? ` ${timeOf(seconds)}` : ""}`;
    });
  return [`rack: ${rack}`, ...(drill ? ["drill: yes"] : []), ...lines].join("\n") + "\n";
}
