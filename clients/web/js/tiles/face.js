/** The face of a tile, drawn: rank, suit by its shape, and the name below. No meaning hangs on colour. */

import { s } from "../shared/dom.js";
import { shapeOf } from "./shapes.js";

const NAMES = {
  b: "bam",
  c: "crak",
  d: "dot",
  N: "north",
  E: "east",
  W: "west",
  S: "south",
  F: "flower",
  J: "joker",
};

/**
 * Draw a tile.
 * @param {string} token
 * @param {string} state `""`, `missing` or `joker` (a joker stands for it).
 */
export function face(token, state = "") {
  const numbered = /^[1-9][bcd]$/.test(token);
  const lettered = numbered || "NEWS".includes(token);
  const name = NAMES[numbered ? token[1] : token] ?? token;
  return s(
    "svg",
    { viewBox: "0 0 60 82", class: `tile ${state}`.trim(), "aria-hidden": "true", focusable: "false" },
    s("rect", { class: "rim", x: 1.5, y: 4.5, width: 57, height: 76, rx: 8 }),
    s("rect", { class: "front", x: 1.5, y: 1.5, width: 57, height: 75, rx: 8 }),
    lettered &&
      s(
        "text",
        { class: numbered ? "rank" : "rank wind", x: numbered ? 18 : 17, y: 42, "text-anchor": "middle" },
        token[0],
      ),
    s(
      "g",
      {
        transform: lettered
          ? `translate(${numbered ? "44 28" : "46 30"}) scale(${numbered ? 0.84 : 0.55})`
          : "translate(30 29) scale(1.2)",
      },
      shapeOf(numbered ? token[1] : token),
    ),
    s("text", { class: "name", x: 30, y: 69, "text-anchor": "middle" }, name),
    state === "joker" &&
      s(
        "g",
        { class: "badge" },
        s("circle", { cx: 49, cy: 11, r: 10 }),
        s("text", { x: 49, y: 16, "text-anchor": "middle" }, "J"),
      ),
  );
}

/** The back of a tile. */
export function back() {
  return s(
    "svg",
    { viewBox: "0 0 60 82", class: "tile reverse", "aria-hidden": "true", focusable: "false" },
    s("rect", { class: "rim", x: 1.5, y: 4.5, width: 57, height: 76, rx: 8 }),
    s("rect", { class: "front", x: 1.5, y: 1.5, width: 57, height: 75, rx: 8 }),
    s("path", { class: "lattice", d: "M14 16h32v46H14zM14 31h32M14 47h32M30 16v46" }),
  );
}
