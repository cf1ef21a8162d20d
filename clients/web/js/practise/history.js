/** The laps of this browser: averages, trend, table, and the log as a file. */

import { h, put } from "../shared/dom.js";
import { noticeArea } from "../shared/notice.js";
import { table } from "../shared/table.js";
import { clock, counted, fine, percent } from "../shared/words.js";
import * as log from "./log.js";
import { plotOf } from "./plot.js";
import { meansOf, orDash, tiles, trendWords } from "./trend.js";

const FILE = "threepass-practice.jsonl";
const WIDEST = 1100;

/**
 * Return the part of the view that tells how practice goes.
 * @param {(lap: Object) => void} review Asked to grade or show a lap of the log.
 */
export function history(review) {
  const notice = noticeArea();
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

  function show() {
    const all = log.laps();
    const finished = all.filter((lap) => lap.finished);
    drawnWide = wide();
    if (!all.length) {
      put(content, h("p", { class: "empty" }, "No laps yet. The trend of your laps will stand here."));
      return;
    }
    put(
      content,
      finished.length > 0 && [
        averages(finished),
        h(
          "div",
          { class: "trend" },
          h(
            "ul",
            {},
            trendWords(finished).map((line) => h("li", {}, line)),
          ),
          finished.length > 1 && plotOf(finished, drawnWide),
        ),
      ],
      table(
        "Laps, the latest first",
        ["Began", "Card", "Passes", "Time", "Pace", "Given up", "As good", "Tiles away", "Review"],
        [...all].reverse().map(row),
        [2, 3, 5, 6, 7],
      ),
      h("p", { class: "hint" }, notes(all, finished)),
    );
  }

  function row(lap) {
    const action = lap.givenUp === null ? "Grade now" : "Show";
    return [
      began(lap.at),
      lap.card,
      String(lap.passes),
      orDash(lap.seconds, clock),
      lap.pace ?? "-",
      orDash(lap.givenUp, fine),
      orDash(lap.share, percent),
      orDash(lap.away, tiles),
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
    const address = URL.createObjectURL(new Blob([log.exported()], { type: "application/x-ndjson" }));
    h("a", { href: address, download: FILE }).click();
    setTimeout(() => URL.revokeObjectURL(address), 10_000);
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
  const means = meansOf(finished);
  const fact = (name, value) => h("div", {}, h("dt", {}, name), h("dd", {}, value));
  return h(
    "dl",
    { class: "facts averages" },
    fact("Finished laps", String(means.laps)),
    fact("Time a lap", orDash(means.seconds, clock)),
    fact("Given up a lap", orDash(means.givenUp, fine)),
    fact("As good as best", orDash(means.share, percent)),
    fact("Tiles away", orDash(means.away, tiles)),
  );
}

function notes(all, finished) {
  const left = all.length - finished.length;
  const ungraded = finished.filter((lap) => lap.givenUp === null).length;
  const kinds = new Set(finished.map((lap) => `${lap.card} ${lap.passes}`)).size;
  return [
    left ? `${counted(left, "lap")} stopped before the end: not counted.` : "",
    ungraded ? `${counted(ungraded, "lap")} without a review: only the time counts.` : "",
    kinds > 1 ? "Laps differ in card or rounds: their times and what they give up are not quite alike." : "",
  ]
    .filter(Boolean)
    .join(" ");
}

const began = (at) =>
  `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;
const two = (number) => String(number).padStart(2, "0");
