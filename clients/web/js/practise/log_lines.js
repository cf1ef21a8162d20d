/** Lines of the practice log: the same JSON lines that the terminal writes. */

const LOG_VERSION = 1;

/** A line that is no lap, and why. */
export class ForeignLine extends Error {}

/**
 * Return the lap on a line.
 * @returns {{key: string, entry: Object, at: Date, card: string, finished: boolean, passes: number,
 *   seconds: number|null, givenUp: number|null, share: number|null, away: number|null, pace: string|null}}
 * @throws {ForeignLine}
 */
export function lapOf(line) {
  let entry;
  try {
    entry = JSON.parse(line);
  } catch {
    throw new ForeignLine("not whole JSON (torn?)");
  }
  if (entry?.threepass_log === undefined) throw new ForeignLine("not a lap of this log");
  if (entry.threepass_log !== LOG_VERSION)
    throw new ForeignLine(`written for version ${entry.threepass_log} of this log`);
  const { record, result, finished } = entry;
  const at = new Date(entry.at);
  const right =
    Array.isArray(record?.exchanges) &&
    typeof finished === "boolean" &&
    (result === null || typeof result === "object") &&
    !Number.isNaN(at.getTime());
  if (!right) throw new ForeignLine("not a lap of this log");
  const times = record.exchanges.map((exchange) => number(exchange?.seconds));
  return {
    key: JSON.stringify([entry.at, entry.client, entry.card, entry.seed, entry.deal]),
    entry,
    at,
    card: String(entry.card),
    finished,
    passes: times.length,
    seconds: times.length && !times.includes(null) ? times.reduce((sum, each) => sum + each, 0) : null,
    givenUp: number(result?.given_up),
    share: number(result?.share_within_resolution),
    away: number(result?.tiles_away),
    pace: typeof result?.pace === "string" ? result.pace : null,
  };
}

function number(value) {
  if (value === null || value === undefined) return null;
  if (typeof value !== "number" || !(value >= 0 && value < Infinity))
    throw new ForeignLine("not a lap of this log");
  return value;
}
