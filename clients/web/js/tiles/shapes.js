/** What is drawn on a tile beside its rank: each kind by a shape of its own, around the origin. */

import { s } from "../shared/dom.js";

const TURN = { N: 0, E: 90, S: 180, W: 270 };

/** Return the shape of a suit (`b`, `c`, `d`) or of a tile without rank. */
export function shapeOf(kind) {
  if (kind in TURN) return arrow(TURN[kind]);
  return SHAPES[kind]();
}

const SHAPES = {
  // A stalk with two joints.
  b: () => s("path", { class: "ink", d: "M-4-17h8v9h-8zM-5-6h10v12H-5zM-4 8h8v9h-8z" }),
  // A plate with a crack through it.
  c: () => [
    s("path", { class: "ink", d: "M0-17 13 0 0 17-13 0z" }),
    s("path", { class: "cut", d: "M3-15-3-4 4 2-3 15" }),
  ],
  // A ring around a point.
  d: () => [s("circle", { class: "line", r: 11.5 }), s("circle", { class: "ink", r: 4 })],
  green: () => [
    s("path", { class: "ink", d: "M-13 15C-15-6-2-16 14-16 15 2 6 15-9 13z" }),
    s("path", { class: "cut", d: "M-13 17C-6 4 0-3 8-10" }),
  ],
  red: () => [
    s("path", {
      class: "ink",
      d: "M0-20C3-10 13-6 13 5 13 13 7 18 0 18-7 18-13 13-13 5-13 0-10-3-8-7-6-3-4-3-3-4-1-9-2-14 0-20z",
    }),
    s("path", { class: "cut", d: "M0 14C-5 9-3 5 0 0 3 5 5 9 0 14z" }),
  ],
  white: () => [
    s("rect", { class: "line", x: -14, y: -17, width: 28, height: 34, rx: 3 }),
    s("rect", { class: "line thin", x: -8.5, y: -11.5, width: 17, height: 23 }),
  ],
  F: () => [
    ...[0, 72, 144, 216, 288].map((turn) =>
      s("ellipse", { class: "ink", cx: 0, cy: -10, rx: 5.6, ry: 8, transform: `rotate(${turn})` }),
    ),
    s("circle", { class: "heart", r: 4.4 }),
  ],
  J: () => [s("path", { class: "ink", d: star() }), s("circle", { class: "heart", r: 4 })],
};

function arrow(turn) {
  return s("path", { class: "ink", transform: `rotate(${turn})`, d: "M0-17 11 1H4v15h-8V1h-7z" });
}

function star() {
  const points = Array.from({ length: 16 }, (_, at) => {
    const far = at % 2 ? 9 : 18;
    return `${(far * Math.sin((at * Math.PI) / 8)).toFixed(1)} ${(-far * Math.cos((at * Math.PI) / 8)).toFixed(1)}`;
  });
  return `M${points.join("L")}z`;
}
