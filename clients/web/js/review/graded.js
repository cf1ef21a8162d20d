/** A graded Charleston, pass by pass, in the service's words. */

import { fragmentOf } from "../ask/sharing.js";
import { h, hidden } from "../shared/page.js";
import { facts, list, part, section, table } from "../shared/parts.js";
import { capital, clock, counted, fine, orDash, percent, tenths } from "../shared/words.js";
import { handEntry, handLegend } from "../tiles/hand.js";
import { tally, tileWords } from "../tiles/kinds.js";
import { face, tileRow } from "../tiles/tile.js";

const HANDS = 3;

/**
 * Show a review of `v1/reviews`.
 * @param {{review: Object, session: Object}} graded
 * @param {{card: string|Object, drill: boolean}} record What was graded, for links to Ask.
 * @param {Object|null} means Over all finished laps, to compare with.
 * @throws {TypeError} It does not have that shape.
 */
export function reviewView({ review, session }, record, means = null) {
  const passes = review.passes.map((pass, at) => graded(pass, record, review.passes.length - at));
  return h(
    "article",
    { class: "review" },
    summary(review, session, means),
    section("Pass by pass", h("ol", { class: "passes" }, passes)),
    atTheEnd(review),
    hindsight(review.passes),
  );
}

/**
 * Show what a single pass is worth.
 * @param {{review: Object}} graded As for `reviewView`.
 */
export function verdict({ review }, record) {
  const [pass] = review.passes;
  return h(
    "article",
    { class: "review" },
    h("ol", { class: "passes" }, graded(pass, record, 1 + record.follow)),
    h("p", { class: "hint" }, review.words.strength_note),
  );
}

function summary({ words, costliest }, session, means) {
  const rows = [
    ["Time", words.time, means && orDash(means.seconds, clock)],
    ["Lost", words.lost, means && orDash(means.givenUp, fine)],
    ["As good as the best", session.words.as_good, means && orDash(means.share, percent)],
    ["At the end", words.end, means && (means.away === null ? "-" : `${tenths(means.away)} tiles away`)],
  ];
  const head = ["Measure", "This lap", ...(means ? [`Average of ${counted(means.laps, "lap")}`] : [])];
  return h(
    "section",
    {},
    table(
      "This lap and the average",
      head,
      rows.map((row) => row.slice(0, head.length)),
    ),
    h("p", {}, costliest ? `Lost most: ${words.costliest}` : `${capital(words.costliest)}.`),
    h("p", { class: "hint" }, words.strength_note),
  );
}

function graded(pass, record, left) {
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
      asking(pass, record, left),
    ),
    marked(pass),
    facts([
      ["You passed", tiles(pass.given, pass.blind)],
      ["Best", tiles(pass.best.pass, pass.best.blind)],
      ["Came in", pass.received ? tiles(pass.received) : record.seen ? null : "not known"],
    ]),
    facts([
      ["Lost", words.lost],
      ["Lost %", words.share],
      ["As good", words.as_good],
      ["Time", words.time],
    ]),
    h("p", {}, pass.why),
    pass.keeps && h("p", {}, `Yours keeps ${pass.keeps}.`),
  );
}

/** The rack before the pass, what was passed and what is best marked. */
function marked({ rack, given, best }) {
  const [yours, theirs] = [tally(given), tally(best.pass)];
  const take = (from, token) => {
    const left = from.get(token) ?? 0;
    from.set(token, left - 1);
    return left > 0;
  };
  return h(
    "ul",
    { class: "strip marked", "aria-label": "The rack, your pass and the best pass marked" },
    rack.map((token) => {
      const [mine, right] = [take(yours, token), take(theirs, token)];
      const mark = mine && right ? "both" : mine ? "yours" : right ? "best" : "";
      return h(
        "li",
        { class: mark },
        hidden(`${tileWords(token)} `),
        face(token),
        h("span", { class: "worth" }, mark),
      );
    }),
  );
}

/** A link that asks what to pass at that moment. */
function asking({ rack, seen, round, given }, { card, drill }, left) {
  const link = h("a", { class: "ask-link" }, "Ask about this pass");
  fragmentOf({
    rack: rack.join(" "),
    round,
    card,
    ...(seen.length ? { seen: seen.join(" ") } : {}),
    ...(round === "courtesy" ? { give: given.length } : {}),
    ...(drill ? { drill: { exchanges_left: left } } : {}),
  }).then((fragment) => link.setAttribute("href", fragment));
  return link;
}

const tiles = (tokens, blind = 0) => (tokens.length || blind ? tileRow(tokens, "small", blind) : "nothing");

function atTheEnd({ words, odds, hands }) {
  return section(
    "At the end",
    list([words.end, words.some_hand && `Some hand: ${words.some_hand}`, odds.words].filter(Boolean).map(capital)),
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
  const rows = passes
    .filter((pass) => pass.hindsight)
    .map(({ words, received, hindsight: known }) => [
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
