/** Tiles side by side, read out as one line of words. */

import { h, hidden } from "../shared/dom.js";
import { face } from "./face.js";
import { allInWords } from "./kinds.js";

/**
 * Show tiles in a row.
 * @param {string[]} tokens
 * @param {string} size `large`, `middle` or `small`.
 * @param {number} blind How many more go on unseen.
 */
export function tileRow(tokens, size = "middle", blind = 0) {
  const unseen = blind ? `${blind} blind` : "";
  const words = [tokens.length || !blind ? allInWords(tokens) : "", unseen].filter(Boolean).join(", ");
  return h(
    "span",
    { class: `tiles ${size}` },
    hidden(words),
    tokens.map((token) => face(token)),
    blind > 0 && h("span", { class: "blind", "aria-hidden": "true" }, `+ ${unseen}`),
  );
}
