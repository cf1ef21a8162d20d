/** The faults of a card file, each with its line as it stands there. */

import { h } from "../shared/dom.js";

/**
 * List faults.
 * @param {{detail: string}[]} faults
 * @param {string} text The file.
 * @param {(line: number) => void} go Takes the reader to a line, counted from 1.
 */
export function faultList(faults, text, go) {
  const lines = text.split("\n");
  return h(
    "ol",
    { class: "card-faults" },
    faults.map((fault) => {
      const line = lineOf(fault.detail);
      const says = h("p", {}, fault.detail);
      if (line === null || line > lines.length) return h("li", {}, says);
      return h(
        "li",
        {},
        h(
          "p",
          { class: "excerpt" },
          h("span", { class: "number" }, `line ${line}`),
          h("code", {}, lines[line - 1].trim() || "(empty)"),
        ),
        says,
        h("button", { type: "button", class: "small", on: { click: () => go(line) } }, `Go to line ${line}`),
      );
    }),
  );
}

/** The line that a fault names, or null. */
export function lineOf(detail) {
  const found = detail.match(/\bline (\d+)/);
  return found ? Number(found[1]) : null;
}
