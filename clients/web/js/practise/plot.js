/** The trend as a plot: two panels, told apart by mark and dash, not by colour. The table beside it is its text. */

import { s } from "../shared/dom.js";
import { clock, counted, hands } from "../shared/words.js";

const HIGH = 150;
const GAP = 62;
const LEFT = 58;
const RIGHT = 12;
const TOP = 26;

/**
 * Return the plot of laps.
 * @param {Object[]} laps In the order of time.
 * @param {number} wide Pixels.
 */
export function plotOf(laps, wide) {
  const panels = [
    {
      label: "Time (min:s)",
      values: laps.map((lap) => lap.seconds),
      written: clock,
      mark: circle,
      least: 10,
      dash: null,
    },
    {
      label: "Given up (expected hands)",
      values: laps.map((lap) => lap.givenUp),
      written: hands,
      mark: square,
      least: 0.01,
      dash: "6 4",
    },
  ];
  return s(
    "svg",
    {
      class: "plot",
      viewBox: `0 0 ${wide} ${2 * (HIGH + GAP)}`,
      width: wide,
      role: "img",
      "aria-label": `Trend over ${counted(laps.length, "lap")}: time above, expected hands given up below. The table has every figure.`,
    },
    panels.map((panel, at) =>
      s("g", { transform: `translate(0 ${at * (HIGH + GAP)})` }, drawn(panel, laps, wide)),
    ),
  );
}

function drawn({ label, values, written, mark, least, dash }, laps, wide) {
  const step = niceStep(Math.max(least, ...values.filter((value) => value !== null)));
  const most = step.most;
  const x = (at) =>
    laps.length === 1
      ? (LEFT + wide - RIGHT) / 2
      : LEFT + 14 + ((wide - RIGHT - LEFT - 28) * at) / (laps.length - 1);
  const y = (value) => TOP + HIGH - (HIGH * value) / most;
  const points = values.map((value, at) => [x(at), value]).filter(([, value]) => value !== null);
  return [
    s("text", { x: LEFT, y: 14, class: "panel-name" }, label),
    step.ticks.map((tick) => [
      s("line", { class: "grid", x1: LEFT, x2: wide - RIGHT, y1: y(tick), y2: y(tick) }),
      s("text", { x: LEFT - 8, y: y(tick) + 4, "text-anchor": "end" }, written(tick)),
    ]),
    indexes(laps.length, wide).map((at) =>
      s("text", { x: x(at), y: TOP + HIGH + 18, "text-anchor": "middle" }, String(at + 1)),
    ),
    points.length > 1 &&
      s("polyline", {
        class: "trend-line",
        "stroke-dasharray": dash,
        points: points.map(([at, value]) => `${at.toFixed(1)},${y(value).toFixed(1)}`).join(" "),
      }),
    points.map(([at, value]) => mark(at, y(value))),
  ];
}

const circle = (x, y) => s("circle", { class: "mark", cx: x, cy: y, r: 4 });
const square = (x, y) => s("rect", { class: "mark open", x: x - 4, y: y - 4, width: 8, height: 8 });

/** A round step of 1, 2 or 5 (or of seconds that make whole minutes) with at most five ticks. */
function niceStep(most) {
  const steps =
    most >= 10
      ? [5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600, 14400, 86400]
      : [0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5];
  const step = steps.find((each) => most / each <= 4) ?? most / 4;
  const count = Math.max(1, Math.ceil(most / step - 1e-9));
  return { most: step * count, ticks: Array.from({ length: count + 1 }, (_, at) => at * step) };
}

/** Which laps get a number below: the first, the last, and some between. */
function indexes(count, wide) {
  const every = Math.max(1, Math.ceil(count / Math.max(2, Math.floor(wide / 60))));
  return Array.from({ length: count }, (_, at) => at).filter((at) => at % every === 0 || at === count - 1);
}
