/** How practice goes: means over laps, and the first half against the second. */

import { clock, counted, fine, percent, rounded } from "../shared/words.js";

const FEWEST = 4;

/** Means over laps; each is null where no lap has the figure. A share is of passes: longer laps count for more. */
export function meansOf(laps) {
  const shares = laps.flatMap((lap) => Array.from({ length: lap.passes }, () => lap.share));
  return {
    laps: laps.length,
    seconds: mean(laps.map((lap) => lap.seconds)),
    givenUp: mean(laps.map((lap) => lap.givenUp)),
    share: mean(shares),
    away: mean(laps.map((lap) => lap.away)),
  };
}

export const tiles = (number) => rounded(number, 1);

/** A figure, or a dash where there is none. */
export const orDash = (value, written) => (value === null ? "-" : written(value));

/** Return the trend as sentences. */
export function trendWords(laps) {
  if (laps.length < FEWEST) return [`${FEWEST} finished laps are needed to tell one half from the other.`];
  const half = Math.floor(laps.length / 2);
  const [first, second] = [meansOf(laps.slice(0, half)), meansOf(laps.slice(-half))];
  return [
    `The first ${counted(half, "lap")} against the last ${half}:`,
    change("Time", first.seconds, second.seconds, clock, ["faster", "slower"]),
    change("Given up", first.givenUp, second.givenUp, fine, ["less", "more"]),
    change("As good as best", first.share, second.share, percent, ["fewer", "more"]),
    change("Tiles away", first.away, second.away, tiles, ["nearer", "farther"]),
    "Deals differ: a small change between so few laps may be luck.",
  ].filter(Boolean);
}

function change(label, first, second, written, [down, up]) {
  if (first === null || second === null) return null;
  const [was, is] = [written(first), written(second)];
  if (was === is) return `${label}: ${was} before and after, no change.`;
  return `${label}: ${was}, then ${is}: ${written(Math.abs(second - first))} ${second < first ? down : up}.`;
}

function mean(values) {
  const there = values.filter((value) => value !== null);
  return there.length ? there.reduce((sum, each) => sum + each, 0) / there.length : null;
}
