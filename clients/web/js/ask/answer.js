/** An answer: what a player wants first, the rest folded away; all in the service's words. */

import { h, hidden } from "../shared/page.js";
import { facts, list, part, section, table } from "../shared/parts.js";
import { capital } from "../shared/words.js";
import { handEntry, handLegend } from "../tiles/hand.js";
import { tileWords } from "../tiles/kinds.js";
import { face, tileRow } from "../tiles/tile.js";

const AT_ONCE = 3;

/**
 * Show an answer of `v1/advice`.
 * @throws {TypeError} It does not have that shape.
 */
export function answerView(answer) {
  return h(
    "article",
    { class: "answer" },
    verdict(answer),
    question(answer),
    answer.mine && mine(answer.mine),
    direction(answer.families ?? []),
    hands(answer),
    rest(answer),
  );
}

/** The rack again, and what each tile is worth to keep. */
function question({ rack, keep }) {
  const worth = new Map((keep ?? []).map((each) => [each.tile, each.words.worth]));
  return h(
    "section",
    { class: "asked" },
    h(
      "ul",
      { class: "strip", "aria-label": "The rack, and what each tile is worth to keep" },
      rack.map((token) =>
        h(
          "li",
          {},
          hidden(`${tileWords(token)}: `),
          face(token),
          h("span", { class: "worth" }, worth.get(token) ?? ""),
        ),
      ),
    ),
    worth.size > 0 && h("p", { class: "hint" }, "Below each tile: what it would cost to pass it."),
  );
}

function verdict({ words, odds, closeness, by_number: numbers, pass, assumptions, gives_away: gives }) {
  const chosen = numbers.find((each) => each.give === pass.length);
  return h(
    "section",
    { class: "verdict" },
    h("h2", {}, `${words.round}: what to pass`),
    h("p", { class: "hint of-card" }, `Card: ${assumptions.card.title}`),
    h("p", { class: "the-pass", id: "the-pass" }, tileRow(pass, "large", chosen?.blind ?? 0)),
    h("p", { class: "in-words", "aria-hidden": "true" }, words.pass),
    facts(
      [
        ["How close", capital(words.closeness), "close"],
        ["Some hand", words.some_hand ?? odds?.words, "some"],
        ["Gives away", gives?.words, "gives"],
        ["Rack strength", words.strength, "strength"],
        ["Proof", words.proof, "proof"],
      ],
      closeness.word === "clear" || closeness.word === "only pass" ? "settled" : "",
    ),
    h("p", { class: "hint" }, words.strength_note),
    words.some_hand && h("p", { class: "hint" }, odds.words),
  );
}

function mine({ pass, words }) {
  return section(
    "Your own pass",
    h("div", { class: "mine-told" }, tileRow(pass, "middle"), list(Object.values(words).filter(Boolean))),
  );
}

/** Where the rack is going: each family's share of rack strength, before the pass and after it. */
function direction(families) {
  if (!families.length) return null;
  const most = Math.max(...families.flatMap(({ before, after }) => [before, after]));
  const bar = (share, kind) => {
    const drawn = h("span", { class: `bar ${kind}`, "aria-hidden": "true" });
    drawn.style.width = `${(100 * share) / most}%`;
    return drawn;
  };
  return section(
    "Direction",
    h("p", { class: "hint" }, "Each family's share of rack strength: thin before the pass, thick after it."),
    h(
      "ul",
      { class: "bars" },
      families.map(({ name, before, after, words }) =>
        h(
          "li",
          {},
          h("span", { class: "bar-name" }, name),
          h("span", { class: "bar-pair" }, bar(before, "before"), bar(after, "after")),
          h(
            "span",
            { class: "bar-words" },
            hidden("after the pass "),
            words.after,
            hidden(`, before ${words.before}`),
          ),
        ),
      ),
    ),
  );
}

function hands({ words, hands: found }) {
  const entries = (from, to) => found.slice(from, to).map((hand) => handEntry(hand, found[0].reach));
  return section(
    "Likeliest hands",
    words.alone_note && h("p", { class: "hint" }, words.alone_note),
    h("ol", { class: "hands" }, entries(0, AT_ONCE)),
    part(
      "More hands, and how they are drawn",
      "",
      h("p", {}, `${words.kept}.`),
      handLegend(),
      h("ol", { class: "hands" }, entries(AT_ONCE)),
    ),
  );
}

function rest({ alternatives, by_number: numbers, given_up: lost, why, pass, assumptions }) {
  return h(
    "section",
    { class: "rest" },
    alternatives.length > 0 && part("Runners-up", "", runnersUp(alternatives)),
    numbers.length > 1 && part("How many to give", "numbers", byNumber(numbers)),
    lost.length > 0 && part("Made less likely", "", lessLikely(lost)),
    why && part("Why", "", h("p", {}, why.sentence), costs(why, pass)),
    part("Assumed", "assumed", list(assumptions.words)),
  );
}

function runnersUp(alternatives) {
  const rows = alternatives.map(({ pass, words }) => [tileRow(pass, "small"), words.strength, words.loss]);
  return table("Runners-up", ["Pass", "Rack strength", "Against the best"], rows, [1, 2]);
}

function byNumber(numbers) {
  const rows = numbers.map(({ pass, words }) => [
    words.give,
    tileRow(pass, "small"),
    words.strength,
    words.loss,
  ]);
  const head = ["Of your own", "Best tiles for that number", "Rack strength", "Against the best"];
  return table("Each number that may go", head, rows, [2, 3]);
}

function lessLikely(lost) {
  const rows = lost.map(({ name, family, words }) => [
    `${name} (${family})`,
    words.from,
    words.to,
    words.lost,
  ]);
  const caption = "Hands made less likely, what counts most first";
  return table(caption, ["Hand", "Before", "After", "Change"], rows, [1, 2, 3]);
}

function costs({ costs: each, sensitivity }, advised) {
  const rows = each.map(({ pass, words }) => [
    words.tile,
    words.loss,
    pass && pass.join() !== advised.join() ? tileRow(pass, "small") : "",
  ]);
  return [
    table("Cost of passing a tile, the others chosen best", ["Tile", "Cost", "Best pass with it"], rows),
    sensitivity.length > 0 && h("h4", {}, "If fewer or more tiles come"),
    sensitivity.map(({ words }) => h("p", { class: "hint" }, words)),
  ];
}
