/** A graded lap, pass by pass, in the service's words. */

import { h } from "../shared/page.js";
import { facts, list, part, section, table } from "../shared/parts.js";
import { capital, clock, counted, fine, orDash, percent, tenths } from "../shared/words.js";
import { handEntry, handLegend } from "../tiles/hand.js";
import { tileRow } from "../tiles/tile.js";

const HANDS = 3;

/**
 * Show a review of `v1/reviews`.
 * @param {{review: Object, session: Object}} graded
 * @param {Object} means Over all finished laps, to compare with.
 * @throws {TypeError} It does not have that shape.
 */
export function reviewView({ review, session }, means) {
  return h(
    "article",
    { class: "review" },
    summary(review, session, means),
    section("Pass by pass", h("ol", { class: "passes" }, review.passes.map(graded))),
    atTheEnd(review),
    hindsight(review.passes),
  );
}

function summary({ words, costliest }, session, means) {
  const rows = [
    ["Time", words.time, orDash(means.seconds, clock)],
    ["Lost", words.lost, orDash(means.givenUp, fine)],
    ["As good as the best", session.words.as_good, orDash(means.share, percent)],
    ["At the end", words.end, means.away === null ? "-" : `${tenths(means.away)} tiles away`],
  ];
  return h(
    "section",
    {},
    table(
      "This lap and the average",
      ["Measure", "This lap", `Average of ${counted(means.laps, "lap")}`],
      rows,
    ),
    h("p", {}, costliest ? `Lost most: ${words.costliest}` : `${capital(words.costliest)}.`),
    h("p", { class: "hint" }, words.strength_note),
  );
}

function graded(pass) {
  const { words } = pass;
  return h(
    "li",
    { class: `graded ${pass.within_resolution ? "as-good" : "worse"}` },
    h(
      "div",
      { class: "graded-head" },
      h("h4", {}, words.round),
      h(
        "span",
        { class: "grade" },
        pass.within_resolution ? "✓ as good as the best" : `${words.share} weaker`,
      ),
    ),
    facts([
      ["You passed", tiles(pass.given, pass.blind)],
      ["Best", tiles(pass.best.pass, pass.best.blind)],
      ["Came in", tiles(pass.received)],
    ]),
    facts([
      ["Lost", words.lost],
      ["Lost %", words.share],
      ["As good", words.as_good],
      ["Time", words.time],
    ]),
    h("p", {}, pass.why),
  );
}

const tiles = (tokens, blind = 0) => (tokens.length || blind ? tileRow(tokens, "small", blind) : "nothing");

function atTheEnd({ words, hands }) {
  return section(
    "At the end",
    list([words.end, words.some_hand && `Some hand: ${words.some_hand}`].filter(Boolean).map(capital)),
    hands.length > 0 && [
      h("p", {}, "The likeliest hands:"),
      handLegend(),
      h(
        "ol",
        { class: "hands" },
        hands.slice(0, HANDS).map((hand) => handEntry(hand, hands[0].reach)),
      ),
    ],
  );
}

function hindsight(passes) {
  const rows = passes.map(({ words, received, hindsight: known }) => [
    words.round,
    tiles(received),
    tiles(known.pass),
    known.words.best_strength,
    known.words.your_strength,
  ]);
  return part(
    "Hindsight (not graded)",
    "",
    table(
      "Best, had one known what came in",
      ["Round", "Came in", "Best", "Worth", "Your pass"],
      rows,
      [3, 4],
    ),
  );
}
