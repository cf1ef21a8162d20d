/** Tiles as the service draws them, for the page and for print alike. */

import { s } from "../shared/dom.js";

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
