/** Tiles as they are typed. The service has the last word; this shows them while they are typed. */

const WORDS = new Map([
  ...["north", "east", "west", "south", "flower", "joker"].flatMap((name) => [
    [name, name[0].toUpperCase()],
    [name[0], name[0].toUpperCase()],
  ]),
  ["flowers", "F"],
  ["jokers", "J"],
  ["soap", "white"],
  ...["green", "red", "white"].flatMap((name) => [
    [name, name],
    [name.slice(0, 2), name],
  ]),
]);
const LONGEST_FIRST = [...WORDS.keys()].sort((one, other) => other.length - one.length).join("|");
const UNIT = `(?<ranks>[1-9](?:[\\s,;]*[1-9])*)[\\s,;]*(?<suit>bams?|craks?|dots?|[bcd])|(?<word>${LONGEST_FIRST})|(?<drawn>\\ud83c[\\udc00-\\udc2a])`;
// Without the flag u, under which a Kelvin sign would be a k. Tile characters are surrogate pairs then.
const AT_UNIT = new RegExp(UNIT, "iy");

/**
 * Read tiles as racks are written: `455c N green F`; case, commas and spaces are free.
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

function tokensOf({ ranks, suit, word, drawn }) {
  if (ranks) return [...ranks.replace(/[\s,;]/g, "")].map((rank) => rank + suit[0].toLowerCase());
  return [word ? WORDS.get(word.toLowerCase()) : ofCharacter(drawn.codePointAt(0) - 0x1f000)];
}

/** The Unicode Standard, block Mahjong Tiles: all plants and seasons are flowers here. */
function ofCharacter(place) {
  const honours = ["E", "S", "W", "N", "red", "green", "white"];
  if (place < 7) return honours[place];
  if (place < 16) return `${place - 6}c`;
  if (place < 25) return `${place - 15}b`;
  if (place < 34) return `${place - 24}d`;
  return place < 42 ? "F" : "J";
}
