/** The rounds of a drill and what each allows (common practice, no source). */

import { JOKER, tally, tileWords } from "../tiles/kinds.js";
import { counted, roundWords } from "../shared/words.js";

export const PASS_SIZE = 3;
export const RACK_SIZE = 14;
export const MOST_ROUNDS = 12;
export const COURTESY = "courtesy";
const ORDER = ["first_right", "first_across", "first_left", "second_left", "second_across", "second_right"];
const BLIND = ["first_left", "second_right"];

/** Return the rounds of a drill: after the sixth they begin again; a courtesy pass may end it. */
export function roundsOf(count, courtesy) {
  const rounds = Array.from({ length: count }, (_, at) => ORDER[at % ORDER.length]);
  return courtesy ? [...rounds, COURTESY] : rounds;
}

export const allowsBlind = (round) => BLIND.includes(round);

/** Return every fault of a pass, as sentences; none when the rules allow it. */
export function passFaults(given, blind, rack, round) {
  return [...countFaults(given.length, blind, round), ...rackFaults(given, rack)];
}

function countFaults(tiles, blind, round) {
  if (round === COURTESY)
    return tiles <= PASS_SIZE && blind === 0 ? [] : [`A courtesy pass is of 0 to ${PASS_SIZE} tiles.`];
  if (!allowsBlind(round)) {
    return tiles === PASS_SIZE && blind === 0
      ? []
      : [`${counted(tiles, "tile")} chosen: ${roundWords(round)} takes exactly ${PASS_SIZE}.`];
  }
  return tiles + blind === PASS_SIZE
    ? []
    : [`${counted(tiles, "tile")} and ${blind} blind: they must make ${PASS_SIZE}.`];
}

function rackFaults(given, rack) {
  const held = tally(rack);
  return [...tally(given)].flatMap(([token, count]) => {
    if (token === JOKER) return ["A joker may never be passed."];
    const has = held.get(token) ?? 0;
    return has < count ? [`${count} of ${tileWords(token)}: the rack has ${has}.`] : [];
  });
}
