/** The practice log of this browser: lines kept as they are, so that what comes in goes out the same. */

import { ForeignLine, lapOf } from "./log_lines.js";

const KEY = "threepass.log";
// What the browser would not keep: it lasts until the page is left.
let unkept = null;

/** Return the laps in the order in which they began. */
export function laps() {
  return lines()
    .map(lapOf)
    .sort((one, other) => one.at - other.at);
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
  const told = { added: 0, same: 0, skipped: [], kept: true };
  text.split("\n").forEach((line, at) => {
    if (!line.trim()) return;
    try {
      const lap = lapOf(line);
      const place = places.get(lap.key);
      if (place === undefined) {
        places.set(lap.key, found.push(line.trim()) - 1);
        told.added += 1;
      } else {
        if (lap.entry.result && !lapOf(found[place]).entry.result) found[place] = line.trim();
        told.same += 1;
      }
    } catch (error) {
      if (!(error instanceof ForeignLine)) throw error;
      told.skipped.push({ number: at + 1, why: error.message });
    }
  });
  told.kept = write(found);
  return told;
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
