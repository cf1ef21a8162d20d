/** A hand as the card's text writes it, taken apart for controls and put together again; the service has the last word. */

const NUMBERED = /^(?:([1-9])|(n)|\(n\+([1-8])\))(p|q|r|bam|crak|dot)$/;
const DRAGON_OF = /^dragon\((p|q|r|bam|crak|dot)\)$/;
const WHERE = /^(?:n in ([1-9])\s*\.\.\s*([1-9]))?(?:\s*and\s*)?(?:n (odd|even))?$/;
const SHOWN = { p: "b", q: "c", r: "d", bam: "b", crak: "c", dot: "d" };
const DRAGONS = { b: "green", c: "red", d: "white" };
const NAMED = {
  flower: ["F", "flower"],
  north: ["N", "north wind"],
  east: ["E", "east wind"],
  west: ["W", "west wind"],
  south: ["S", "south wind"],
  green: ["green", "green dragon"],
  red: ["red", "red dragon"],
  white: ["white", "white dragon"],
  wind: ["N", "any wind"],
  wind1: ["N", "any wind"],
  wind2: ["E", "another wind"],
  dragon: ["red", "any dragon"],
  dragon1: ["red", "any dragon"],
  dragon2: ["green", "another dragon"],
};
export const LETTERS = ["p", "q", "r"];
export const HAND_SIZE = 14;
const COUNTS = /^(.+)\*([1-6])$/;

/** The alternatives of a hand as a list. */
export const waysOf = (hand) => (Array.isArray(hand.groups) ? hand.groups : [hand.groups ?? ""]).map(String);

/**
 * Take groups apart.
 * @param {string} text
 * @returns {{tile: string, count: number|null}[]} What cannot be taken apart stands in `tile`, its count null.
 */
export function groupsOf(text) {
  return text
    .split(/\s+/)
    .filter(Boolean)
    .map((written) => {
      const [, tile, count] = written.match(COUNTS) ?? [null, written, null];
      return { tile, count: count && Number(count) };
    });
}

/** Put groups together. */
export const written = (groups) =>
  groups.map(({ tile, count }) => (count === null ? tile : `${tile}*${count}`)).join(" ");

/** The group in which a column of a text lies, counted from 0. */
export const groupAt = (text, column) =>
  [...text.matchAll(/\S+/g)].findLastIndex((found) => found.index < column);

/** How many tiles groups have. */
export const sizeOf = (groups) => groups.reduce((sum, { count }) => sum + (count ?? 0), 0);

/** A numbered tile taken apart: `rank` ("5", "n" or "n+2") and `suit`; null for another tile. */
export function numbered(tile) {
  const found = tile.match(NUMBERED);
  if (!found) return null;
  const [, fixed, n, shift, suit] = found;
  return { rank: fixed ?? (n ? "n" : `n+${shift}`), suit };
}

/** Put a numbered tile together. */
export const numberedTile = (rank, suit) => (rank.length > 1 ? `(${rank})` : rank) + suit;

/** The suit that a tile names, or null. */
export const suitOf = (tile) => numbered(tile)?.suit ?? tile.match(DRAGON_OF)?.[1] ?? null;

/**
 * Say which suit a letter stands for: the first group that has it, or that it is a new one.
 * @param {string} suit
 * @param {{tile: string}[]} groups
 * @param {number} at The group that is spoken of is not its own reason.
 */
export function suitWords(suit, groups, at = groups.length) {
  if (!LETTERS.includes(suit)) return `${suit}s`;
  const first = groups.findIndex((group) => suitOf(group.tile) === suit);
  if (first >= 0 && first < at) return `same suit as group ${first + 1}`;
  const others = groups.slice(0, at).some((group) => LETTERS.includes(suitOf(group.tile)));
  return others ? "another suit" : "any suit";
}

/** A group's tile in words. */
export function tileWords(groups, at) {
  const { tile } = groups[at];
  const parts = numbered(tile);
  if (parts) return `${parts.rank.replace("+", " + ")}, ${suitWords(parts.suit, groups, at)}`;
  const of = tile.match(DRAGON_OF);
  if (of) return `dragon, ${suitWords(of[1], groups, at)}`;
  return NAMED[tile]?.[1] ?? null;
}

/** The smallest n for which all ranks exist and a condition holds; 1 where there is none. */
export function exampleN(groups, where) {
  const shifts = groups.map(({ tile }) => numbered(tile)?.rank).filter((rank) => rank?.startsWith("n"));
  const most = 9 - Math.max(0, ...shifts.map((rank) => Number(rank.slice(2) || 0)));
  const { from, to, parity } = conditionOf(where) ?? {};
  for (let n = from ?? 1; n <= Math.min(most, to ?? 9); n += 1)
    if (!parity || (n % 2 === 1) === (parity === "odd")) return n;
  return 1;
}

/** A tile that a group may be drawn with, or null when its text is no tile. */
export function exampleOf(tile, n) {
  const parts = numbered(tile);
  if (parts) {
    const rank = parts.rank.startsWith("n") ? n + Number(parts.rank.slice(2) || 0) : Number(parts.rank);
    return `${Math.min(9, rank)}${SHOWN[parts.suit]}`;
  }
  const of = tile.match(DRAGON_OF);
  return of ? DRAGONS[SHOWN[of[1]]] : (NAMED[tile]?.[0] ?? null);
}

/** A condition on n taken apart: `from`, `to`, `parity`, each undefined where it is open; null for one of another form. */
export function conditionOf(where) {
  if (!where) return {};
  const found = where.trim().match(WHERE);
  if (!found) return null;
  const [, from, to, parity] = found;
  return { from: from && Number(from), to: to && Number(to), parity };
}

/** Put a condition together; undefined where nothing is limited. */
export function conditionWritten({ from, to, parity }) {
  const within = from || to ? `n in ${from ?? 1}..${to ?? 9}` : "";
  return [within, parity ? `n ${parity}` : ""].filter(Boolean).join(" and ") || undefined;
}
