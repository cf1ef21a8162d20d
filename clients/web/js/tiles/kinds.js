/** The 36 kinds of tile: their tokens, order and names, and how they are read while they are typed. */

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
const TOKENS = [
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

const END = "(?=[\\s,;]|$)";
const DRAGON_WORDS = {
  green: "green",
  gr: "green",
  red: "red",
  re: "red",
  white: "white",
  wh: "white",
  soap: "white",
};
// Dragons first: "w" and "s" begin "white" and "soap".
const UNIT = [
  "(?<ranks>[1-9](?:[\\s,;]*[1-9])*)[\\s,;]*(?<suit>bam(?:boo)?s?|crac?ks?|dots?|[bcd])",
  `(?<dragon>green|white|soap|red|gr|re|wh)(?:\\s*dragons?${END})?`,
  `(?<word>(?:north|south|east|west|[nesw])(?:\\s*winds?${END})?|flowers?|jokers?|[fj])`,
  "(?<drawn>\\ud83c[\\udc00-\\udc2a])[\\ufe0e\\ufe0f]?",
].join("|");
// Without the flag u, under which a Kelvin sign would be a k. Tile characters are surrogate pairs then.
const AT_UNIT = new RegExp(UNIT, "iy");

/**
 * Read tiles as racks are written: `455c N green F`; case, commas and spaces are free. The service has the last word.
 * @returns {{tokens: string[], unknown: string[]}} Tokens as written, and each part that is no tile.
 */
export function readTiles(text) {
  const tokens = [];
  const unknown = [];
  let at = 0;
  while (at < text.length) {
    const gap = /[\s,;]*/y;
    gap.lastIndex = at;
    at += gap.exec(text)[0].length;
    if (at >= text.length) break;
    const run = runAt(text, at);
    if (run) tokens.push(...run.tokens);
    else unknown.push(text.slice(at).match(/^[^\s,;]+/)[0]);
    at = run ? run.end : at + unknown.at(-1).length;
  }
  return { tokens, unknown };
}

/** Units that follow one another up to a gap, or null when something else stands in between. */
function runAt(text, from) {
  const tokens = [];
  let end = from;
  while (end < text.length && !/[\s,;]/.test(text[end])) {
    AT_UNIT.lastIndex = end;
    const unit = AT_UNIT.exec(text);
    if (!unit) return null;
    tokens.push(...tokensOf(unit.groups));
    end = AT_UNIT.lastIndex;
  }
  return { tokens, end };
}

function tokensOf({ ranks, suit, dragon, word, drawn }) {
  if (ranks) return [...ranks.replace(/[\s,;]/g, "")].map((rank) => rank + suit[0].toLowerCase());
  if (dragon) return [DRAGON_WORDS[dragon.toLowerCase()]];
  return [word ? word[0].toUpperCase() : ofCharacter(drawn.codePointAt(0) - 0x1f000)];
}

/** The Unicode Standard, block Mahjong Tiles: all plants and seasons are flowers here. */
function ofCharacter(place) {
  const first = ["E", "S", "W", "N", "red", "green", "white"];
  if (place < 7) return first[place];
  if (place < 16) return `${place - 6}c`;
  if (place < 25) return `${place - 15}b`;
  if (place < 34) return `${place - 24}d`;
  return place < 42 ? "F" : "J";
}
