/** The 36 kinds of tile: their tokens, their order and their names in words. */

const SUITS = { b: "bam", c: "crak", d: "dot" };
const NAMED = {
  N: "north wind",
  E: "east wind",
  W: "west wind",
  S: "south wind",
  green: "green dragon",
  red: "red dragon",
  white: "white dragon",
  F: "flower",
  J: "joker",
};
const RANKS = [1, 2, 3, 4, 5, 6, 7, 8, 9];

export const JOKER = "J";
export const TOKENS = [
  ...Object.keys(SUITS).flatMap((suit) => RANKS.map((rank) => `${rank}${suit}`)),
  ...Object.keys(NAMED),
];
/** Rows in which kinds are offered. */
export const ROWS = [
  ["Bams", TOKENS.slice(0, 9)],
  ["Craks", TOKENS.slice(9, 18)],
  ["Dots", TOKENS.slice(18, 27)],
  ["Winds, dragons, flower, joker", TOKENS.slice(27)],
];
const PLACE = new Map(TOKENS.map((token, place) => [token, place]));

export const isKind = (token) => PLACE.has(token);

/** How many of a kind the set has. */
export const copies = (token) => (token === "F" || token === JOKER ? 8 : 4);

/** Return tokens in the fixed order of kinds. */
export const inOrder = (tokens) => [...tokens].sort((one, other) => PLACE.get(one) - PLACE.get(other));

/** A tile in words: `4c` is `4 crak`. */
export const tileWords = (token) => NAMED[token] ?? `${token[0]} ${SUITS[token[1]]}`;

/** Tiles in words, with commas. */
export const allInWords = (tokens) => tokens.map(tileWords).join(", ") || "nothing";

/** How often each token occurs. */
export function tally(tokens) {
  const counts = new Map();
  for (const token of tokens) counts.set(token, (counts.get(token) ?? 0) + 1);
  return counts;
}

/** Return tokens without others, each taken once. */
export function without(tokens, taken) {
  const left = [...tokens];
  for (const token of taken) {
    const at = left.indexOf(token);
    if (at >= 0) left.splice(at, 1);
  }
  return left;
}

/** Tokens with one space between tiles alike and two where the kind changes. */
export function inGroups(tokens) {
  return (
    tokens
      .map((token, at) => (at && tokens[at - 1] !== token ? `  ${token}` : at ? ` ${token}` : token))
      .join("") || "none"
  );
}
