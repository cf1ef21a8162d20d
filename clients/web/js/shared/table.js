/** Tables that scroll by themselves where the page is narrow. */

import { h } from "./dom.js";

/**
 * Return a table.
 * @param {string} caption
 * @param {string[]} head
 * @param {Array[]} rows The first cell of each names it.
 * @param {number[]} right Columns of numbers.
 */
export function table(caption, head, rows, right = []) {
  const side = (at) => (right.includes(at) ? "right" : null);
  return h(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    h(
      "table",
      {},
      h("caption", { class: "sr" }, caption),
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          head.map((cell, at) => h("th", { scope: "col", class: side(at) }, cell)),
        ),
      ),
      h(
        "tbody",
        {},
        rows.map((row) =>
          h(
            "tr",
            {},
            row.map((cell, at) => h(at ? "td" : "th", { scope: at ? null : "row", class: side(at) }, cell)),
          ),
        ),
      ),
    ),
  );
}
