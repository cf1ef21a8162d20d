/** The laps of this browser: averages, trend, table, and the log as a file. */

import { titleOf } from "../cards/shelf.js";
import { h, put, s, saveFile } from "../shared/page.js";
import { choice, facts, field, list, noticeArea, table } from "../shared/parts.js";
import { clock, counted, fine, orDash, percent, tenths } from "../shared/words.js";
import { insights } from "./insights.js";
import * as log from "./log.js";

const FILE = "threepass-practice.jsonl";
const WIDEST = 1100;
// Laps from which on the first half is compared with the second.
const FEWEST = 4;
// Pixels of one panel of the plot: its height, what lies below it, and what is left free around it.
const PLOT = { high: 150, gap: 62, left: 58, right: 12, top: 26 };

/**
 * Return the part of the view that tells how practice goes.
 * @param {(lap: Object) => void} review Asked to grade or show a lap of the log.
 * @param {(count: number) => void} due Told how many passes are due again.
 */
export function history(review, due) {
  const notice = noticeArea();
  const where = insights(due);
  const content = h("div", { class: "history-content" });
  const chosen = h("input", {
    type: "file",
    accept: ".jsonl,.json,.txt",
    class: "sr",
    id: "import-log",
    tabindex: "-1",
    on: { change: () => take(chosen.files[0]) },
  });
  const element = h(
    "section",
    { class: "history panel", "aria-labelledby": "history-title" },
    h("h2", { id: "history-title" }, "How it goes"),
    content,
    where.element,
    h(
      "div",
      { class: "buttons" },
      h("button", { type: "button", on: { click: save } }, "Export the log"),
      h("button", { type: "button", on: { click: () => chosen.click() } }, "Import a log"),
      h("button", { type: "button", on: { click: forget } }, "Forget all laps"),
      h("label", { class: "sr", for: chosen.id }, "Log file to import"),
      chosen,
    ),
    h(
      "p",
      { class: "hint" },
      "The log is kept in this browser only. Its file is the one of the terminal: ",
      h("code", {}, "threepass progress --log FILE"),
      " and ",
      h("code", {}, "threepass review FILE"),
      " read it.",
    ),
    notice.element,
  );
  let drawnWide = 0;
  new ResizeObserver(() => {
    if (!element.hidden && Math.abs(wide() - drawnWide) > 8) show();
  }).observe(content);

  const wide = () => Math.min(WIDEST, Math.max(260, content.clientWidth));

  /** Which laps are looked at: by card and by number of passes; all by default. */
  const filters = { card: choice([], {}), passes: choice([], {}) };
  const filterRow = h(
    "div",
    { class: "pair" },
    field("Laps with the card", filters.card).element,
    field("Laps of", filters.passes).element,
  );
  for (const select of Object.values(filters)) select.addEventListener("change", () => show());

  function offer(select, values, words, every) {
    const was = select.value;
    const found = [...new Set(values)].sort();
    put(
      select,
      [["", every], ...found.map((value) => [value, words(value)])].map(([value, label]) =>
        h("option", { value }, label),
      ),
    );
    select.value = found.includes(was) ? was : "";
  }

  function show() {
    where.show();
    const every = log.laps().filter((lap) => !lap.single);
    offer(
      filters.card,
      every.map((lap) => lap.card),
      titleOf,
      "any card",
    );
    offer(
      filters.passes,
      every.map((lap) => String(lap.passes)),
      (count) => counted(Number(count), "pass", "passes"),
      "any number of passes",
    );
    const all = every.filter(
      (lap) =>
        (filters.card.value === "" || lap.card === filters.card.value) &&
        (filters.passes.value === "" || String(lap.passes) === filters.passes.value),
    );
    const finished = all.filter((lap) => lap.finished);
    drawnWide = wide();
    if (!all.length) {
      put(content, h("p", { class: "empty" }, "No laps yet. The trend of your laps will stand here."));
      return;
    }
    put(
      content,
      filterRow,
      finished.length > 0 && [
        averages(finished),
        h(
          "div",
          { class: "trend" },
          list(trendWords(finished)),
          finished.length > 1 && plotOf(finished, drawnWide),
        ),
      ],
      table(
        "Laps, the latest first",
        ["Began", "Time", "Lost", "As good", "Tiles away", "Pace", "Passes", "Card", "Review"],
        [...all].reverse().map(row),
        [1, 2, 3, 4, 6],
      ),
      h("p", { class: "hint" }, notes(all, finished)),
      h(
        "p",
        { class: "hint gloss" },
        "Rack strength is all chances added up, the likelier counting for more.",
      ),
    );
  }

  function row(lap) {
    const action = lap.givenUp === null ? "Grade now" : "Show";
    return [
      began(lap.at),
      orDash(lap.seconds, clock),
      orDash(lap.givenUp, fine),
      orDash(lap.share, percent),
      orDash(lap.away, tenths),
      lap.pace ?? "-",
      String(lap.passes),
      titleOf(lap.card),
      lap.finished
        ? h(
            "button",
            {
              type: "button",
              class: "small",
              "aria-label": `${action}: the lap of ${began(lap.at)}`,
              on: { click: () => review(lap) },
            },
            action,
          )
        : "not finished",
    ];
  }

  function save() {
    saveFile(new Blob([log.exported()], { type: "application/x-ndjson" }), FILE);
    notice.say(`${counted(log.laps().length, "lap")} exported as ${FILE}.`);
  }

  async function take(file) {
    if (!file) return;
    try {
      const told = log.imported(await file.text());
      const skipped = told.skipped.map(({ number, why }) => ({
        detail: `line ${number} is left out: ${why}`,
      }));
      const says = `${counted(told.added, "lap")} added, ${told.same} already here.${told.kept ? "" : " The browser would not keep them: they last until the page is left."}`;
      if (skipped.length) notice.show(new Error(says), null, skipped);
      else notice.say(says);
    } catch {
      notice.show(new Error(`${file.name} cannot be read.`));
    }
    chosen.value = "";
    show();
  }

  function forget() {
    const count = log.laps().length;
    if (
      !count ||
      !window.confirm(`Forget ${counted(count, "lap")} for good? Export the log first to keep them.`)
    )
      return;
    log.forget();
    notice.say("All laps are forgotten.");
    show();
  }

  return { element, show, notice };
}

function averages(finished) {
  const means = log.meansOf(finished);
  return facts(
    [
      ["Finished laps", String(means.laps)],
      ["Time a lap", orDash(means.seconds, clock)],
      ["Lost a lap, of rack strength", orDash(means.givenUp, fine)],
      ["Passes as good as the best", orDash(means.share, percent)],
      ["Tiles away at the end", orDash(means.away, tenths)],
    ],
    "averages",
  );
}

/** Return the trend as sentences. */
function trendWords(laps) {
  if (laps.length < FEWEST) return [`${FEWEST} finished laps are needed to tell one half from the other.`];
  const half = Math.floor(laps.length / 2);
  const [first, second] = [log.meansOf(laps.slice(0, half)), log.meansOf(laps.slice(-half))];
  return [
    `The first ${counted(half, "lap")} against the last ${half}:`,
    change("Time", first.seconds, second.seconds, clock, ["faster", "slower"]),
    change("Lost", first.givenUp, second.givenUp, fine, ["less", "more"]),
    change("As good as best", first.share, second.share, percent, ["fewer", "more"]),
    change("Tiles away", first.away, second.away, tenths, ["nearer", "farther"]),
    "Deals differ: a small change between so few laps may be luck.",
  ].filter(Boolean);
}

function change(label, first, second, written, [down, up]) {
  if (first === null || second === null) return null;
  const [was, is] = [written(first), written(second)];
  if (was === is) return `${label}: ${was} before and after, no change.`;
  return `${label}: ${was}, then ${is}: ${written(Math.abs(second - first))} ${second < first ? down : up}.`;
}

function notes(all, finished) {
  const left = all.length - finished.length;
  const ungraded = finished.filter((lap) => lap.givenUp === null).length;
  const kinds = new Set(finished.map((lap) => `${lap.card} ${lap.passes}`)).size;
  return [
    left ? `${counted(left, "lap")} stopped before the end: not counted.` : "",
    ungraded ? `${counted(ungraded, "lap")} without a review: only the time counts.` : "",
    kinds > 1 ? "Laps differ in card or rounds: their times and what they lose are not quite alike." : "",
  ]
    .filter(Boolean)
    .join(" ");
}

const began = (at) =>
  `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;
const two = (number) => String(number).padStart(2, "0");

/**
 * Return the trend as a plot: two panels, told apart by mark and dash, not by color. The table beside it is its text.
 * @param {Object[]} laps In the order of time.
 * @param {number} wide Pixels.
 */
function plotOf(laps, wide) {
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
      label: "Lost (rack strength)",
      values: laps.map((lap) => lap.givenUp),
      written: fine,
      mark: square,
      least: 0.01,
      dash: "6 4",
    },
  ];
  return s(
    "svg",
    {
      class: "plot",
      viewBox: `0 0 ${wide} ${2 * (PLOT.high + PLOT.gap)}`,
      width: wide,
      role: "img",
      "aria-label": `Trend over ${counted(laps.length, "lap")}: time above, rack strength lost below. The table has every figure.`,
    },
    panels.map((panel, at) =>
      s("g", { transform: `translate(0 ${at * (PLOT.high + PLOT.gap)})` }, drawn(panel, laps, wide)),
    ),
  );
}

function drawn({ label, values, written, mark, least, dash }, laps, wide) {
  const step = niceStep(Math.max(least, ...values.filter((value) => value !== null)));
  const most = step.most;
  const x = (at) =>
    laps.length === 1
      ? (PLOT.left + wide - PLOT.right) / 2
      : PLOT.left + 14 + ((wide - PLOT.right - PLOT.left - 28) * at) / (laps.length - 1);
  const y = (value) => PLOT.top + PLOT.high - (PLOT.high * value) / most;
  const points = values.map((value, at) => [x(at), value]).filter(([, value]) => value !== null);
  return [
    s("text", { x: PLOT.left, y: 14, class: "panel-name" }, label),
    step.ticks.map((tick) => [
      s("line", { class: "grid", x1: PLOT.left, x2: wide - PLOT.right, y1: y(tick), y2: y(tick) }),
      s("text", { x: PLOT.left - 8, y: y(tick) + 4, "text-anchor": "end" }, written(tick)),
    ]),
    indexes(laps.length, wide).map((at) =>
      s("text", { x: x(at), y: PLOT.top + PLOT.high + 18, "text-anchor": "middle" }, String(at + 1)),
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
