/** Tiles as the service draws them, for the page and for print alike; alone, and side by side. */

import { h, hidden, s } from "../shared/page.js";
import { allInWords } from "./kinds.js";

const DRAWINGS = "tiles.svg";

/**
 * Draw a tile.
 * @param {string} token
 * @param {string} state `""`, `missing` or `joker` (a joker stands for it).
 */
export const face = (token, state = "") => drawn(state, token, state === "joker" && "stands");

/** The back of a tile. */
export const back = () => drawn("", "back");

function drawn(state, ...symbols) {
  return s(
    "svg",
    { viewBox: "0 0 60 80", class: `tile ${state}`.trim(), "aria-hidden": "true", focusable: "false" },
    symbols.filter(Boolean).map((symbol) => s("use", { href: `${DRAWINGS}#${symbol}` })),
  );
}

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
