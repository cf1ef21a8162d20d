/** A graded lap, pass by pass. */

import { h } from "../shared/dom.js";
import { handEntry, handLegend } from "../shared/hand.js";
import { table } from "../shared/table.js";
import { capital, clock, counted, fine, hands, percent, roundWords } from "../shared/words.js";
import { tileRow } from "../tiles/row.js";
import { orDash, tiles } from "./trend.js";

/**
 * Show a review of `v1/reviews`.
 * @param {Object} review
 * @param {Object} means Over all finished laps, to compare with.
 * @throws {TypeError} It does not have that shape.
 */
export function reviewView(review, means) {
  return h(
    "article",
    { class: "review" },
    summary(review, means),
    passes(review.passes),
    atTheEnd(review),
    hindsight(review.passes),
  );
}

function summary(review, means) {
  const good = review.passes.filter((graded) => graded.within_resolution).length / review.passes.length;
  const rows = [
    ["Time", review.time ?? "not taken", orDash(means.seconds, clock)],
    ["Pace", review.pace ?? "-", ""],
    ["Given up, expected hands", fine(review.given_up), orDash(means.givenUp, fine)],
    ["Passes as good as the best", percent(good), orDash(means.share, percent)],
    ["Tiles away at the end", String(review.tiles_away), orDash(means.away, tiles)],
  ];
  const worst = review.costliest;
  return h(
    "section",
    {},
    table(
      "This lap and the average",
      ["Measure", "This lap", `Average of ${counted(means.laps, "lap")}`],
      rows,
      [1, 2],
    ),
    h(
      "p",
      {},
      worst
        ? `Cost most: the ${roundWords(worst.round)} pass, ${fine(worst.given_up)}. ${worst.why}`
        : "No pass gave up anything.",
    ),
  );
}

function passes(graded) {
  return h(
    "section",
    {},
    h("h3", {}, "Pass by pass"),
    h(
      "ol",
      { class: "passes" },
      graded.map((pass) =>
        h(
          "li",
          { class: `graded ${pass.within_resolution ? "as-good" : "worse"}` },
          h(
            "div",
            { class: "graded-head" },
            h("h4", {}, capital(roundWords(pass.round))),
            h(
              "span",
              { class: "grade" },
              pass.within_resolution
                ? "✓ as good as the best"
                : `gave up ${fine(pass.given_up)} (${percent(pass.share)})`,
            ),
            h("span", { class: "took" }, pass.seconds === null ? "not timed" : clock(pass.seconds)),
          ),
          h(
            "dl",
            { class: "given-best" },
            side("Given", pass.given, pass.blind),
            side("Best", pass.best.pass, pass.best.blind),
            side("Came in", pass.received, 0),
          ),
          h("p", {}, pass.why),
        ),
      ),
    ),
  );
}

const side = (name, tokens, blind) =>
  h(
    "div",
    {},
    h("dt", {}, name),
    h("dd", {}, tokens.length || blind ? tileRow(tokens, "small", blind) : "nothing"),
  );

function atTheEnd(review) {
  const away =
    review.tiles_away === 0
      ? "a target is complete"
      : `${counted(review.tiles_away, "tile")} away from the nearest target`;
  return h(
    "section",
    {},
    h("h3", {}, "At the end"),
    h("p", {}, `${hands(review.expected_hands)} expected hands, ${away}.`),
    review.hands.length > 0 && [
      h("p", {}, "The likeliest hands:"),
      handLegend(),
      h(
        "ol",
        { class: "hands" },
        review.hands.slice(0, 3).map((hand) => handEntry(hand, review.hands[0].reach)),
      ),
    ],
  );
}

function hindsight(graded) {
  const rows = graded.map((pass) => [
    roundWords(pass.round),
    tileRow(pass.hindsight.pass, "small"),
    hands(pass.hindsight.expected_hands),
    hands(pass.hindsight.made),
  ]);
  return h(
    "details",
    { class: "part" },
    h("summary", {}, "With hindsight, no part of the grade"),
    h(
      "div",
      { class: "inside" },
      table(
        "Best, had one known what came in",
        ["Round", "Best, had one known", "Worth", "As given"],
        rows,
        [2, 3],
      ),
    ),
  );
}
