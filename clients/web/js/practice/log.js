/** The practice log of this browser: lines kept as they are, so that what comes in goes out the same. */

import { post } from "../shared/service.js";
import { LOG_VERSION, now } from "./drill.js";

const KEY = "threepass.log";
const WHOLE = 6;
// No lap has more passes, lasts more than a day, loses more rack strength or ends farther away; and logs have years.
const MOST = { passes: 12, seconds: 86_400, givenUp: 1e6, share: 1, away: 14 };
const YEARS = [2000, 2200];
// As many graded passes as the service takes at a time.
const MOST_FACTS = 2000;
// What the browser would not keep: it lasts until the page is left.
let unkept = null;

/** Return the laps in the order in which they began. */
export function laps() {
  return lines()
    .map(lapOf)
    .sort((one, other) => one.at - other.at);
}

/**
 * Have the latest graded passes told: where they lose, and what is due again, each with its lap; null without any.
 * @param {number} moreThan What a pass must have lost to be played again, as a share.
 * @throws {ServiceError}
 */
export async function told(moreThan, options) {
  const passes = laps()
    .flatMap((lap) => lap.facts.map((fact) => ({ lap, fact })))
    .slice(-MOST_FACTS);
  if (!passes.length) return null;
  const asked = { passes: passes.map(({ fact }) => fact), now: now(), more_than: moreThan };
  const answer = await post("v1/progress", asked, options);
  return { ...answer, due: answer.due.map(({ index }) => passes[index]) };
}

/** Append a lap's line; return whether the browser has kept it. */
export function append(line) {
  const known = new Set(lines().map((each) => lapOf(each).key));
  const written = JSON.stringify(line);
  return known.has(lapOf(written).key) ? true : write([...lines(), written]);
}

/** Put a result into the line of a lap. */
export function grade(key, result) {
  return write(
    lines().map((line) => (lapOf(line).key === key ? JSON.stringify({ ...JSON.parse(line), result }) : line)),
  );
}

/** The log as the text of a file. */
export const exported = () =>
  lines()
    .map((line) => `${line}\n`)
    .join("");

/** Forget every lap. */
export const forget = () => write([]);

/**
 * Add the laps of a file. A lap that is here already is not added again, but a grade it brings is taken over.
 * @returns {{added: number, same: number, skipped: {number: number, why: string}[], kept: boolean}}
 */
export function imported(text) {
  const found = lines();
  const places = new Map(found.map((line, at) => [lapOf(line).key, at]));
  const { laps: read, skipped } = lapsIn(text);
  const told = { added: 0, same: 0, skipped, kept: true };
  for (const { lap, line } of read) {
    const place = places.get(lap.key);
    if (place === undefined) {
      places.set(lap.key, found.push(line) - 1);
      told.added += 1;
    } else {
      if (lap.entry.result && !lapOf(found[place]).entry.result) found[place] = line;
      told.same += 1;
    }
  }
  told.kept = write(found);
  return told;
}

/**
 * The laps of a file, each with its line, and the lines that are none.
 * @returns {{laps: {lap: Object, line: string}[], skipped: {number: number, why: string}[]}}
 */
export function lapsIn(text) {
  const found = { laps: [], skipped: [] };
  text.split("\n").forEach((line, at) => {
    if (!line.trim()) return;
    try {
      found.laps.push({ lap: lapOf(line), line: line.trim() });
    } catch (error) {
      if (!(error instanceof ForeignLine)) throw error;
      found.skipped.push({ number: at + 1, why: error.message });
    }
  });
  return found;
}

/** The lines that are laps; what else may stand in the browser's storage is left alone until the next write. */
function lines() {
  if (unkept) return unkept;
  let text = "";
  try {
    text = localStorage.getItem(KEY) ?? "";
  } catch {
    // Storage is blocked: the log begins empty.
  }
  return text.split("\n").filter(isLap);
}

function isLap(line) {
  try {
    return Boolean(line) && Boolean(lapOf(line));
  } catch {
    return false;
  }
}

function write(all) {
  try {
    localStorage.setItem(KEY, all.map((line) => `${line}\n`).join(""));
    unkept = null;
    return true;
  } catch {
    unkept = all;
    return false;
  }
}

/** A line that is no lap, and why. */
class ForeignLine extends Error {}

/**
 * Return the lap on a line.
 * @returns {{key: string, entry: Object, at: Date, card: string, finished: boolean, single: boolean, passes: number,
 *   seconds: number|null, givenUp: number|null, share: number|null, away: number|null, pace: string|null,
 *   facts: Object[]}} `facts` are its graded passes, as the service takes them.
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
    Array.isArray(result?.passes ?? []) &&
    record.exchanges.length <= MOST.passes &&
    at.getFullYear() >= YEARS[0] &&
    at.getFullYear() < YEARS[1];
  if (!right) throw new ForeignLine("not a lap of this log");
  const times = record.exchanges.map((exchange) => number(exchange?.seconds, MOST.seconds));
  return {
    key: JSON.stringify([entry.at, entry.client, entry.card, entry.seed, entry.deal]),
    entry,
    at,
    card: String(entry.card),
    finished,
    single: (record.seen ?? null) !== null,
    passes: times.length,
    seconds: times.length && !times.includes(null) ? times.reduce((sum, each) => sum + each, 0) : null,
    // Older laps have `given_up` alone, which was of another objective: they can be graded anew.
    givenUp: number(result?.strength_given_up, MOST.givenUp),
    share: number(result?.share_within_resolution, MOST.share),
    away: number(result?.tiles_away, MOST.away),
    // There are bands of pace for whole Charlestons only.
    pace: times.length >= WHOLE && typeof result?.pace === "string" ? result.pace : null,
    facts: (result?.passes ?? []).map((pass) => ({ ...pass, at: entry.at, card: String(entry.card) })),
  };
}

function number(value, most) {
  if (value === null || value === undefined) return null;
  if (typeof value !== "number" || !(value >= 0 && value <= most))
    throw new ForeignLine("not a lap of this log");
  return value;
}

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

function mean(values) {
  const there = values.filter((value) => value !== null);
  return there.length ? there.reduce((sum, each) => sum + each, 0) / there.length : null;
}
