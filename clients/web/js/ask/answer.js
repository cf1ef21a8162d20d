/** An answer: the pass first, then why, then all that it rests on; in the service's words. */

import { h } from "../shared/page.js";
import { facts, list, section, table } from "../shared/parts.js";
import { capital } from "../shared/words.js";
import { handEntry, handLegend } from "../tiles/hand.js";
import { tileRow } from "../tiles/tile.js";

/**
 * Show an answer of `v1/advice`.
 * @throws {TypeError} It does not have that shape.
 */
export function answerView(answer) {
  return h(
    "article",
    { class: "answer" },
    verdict(answer),
    answer.why && section("Why", h("p", {}, answer.why.sentence)),
    runnersUp(answer.alternatives),
    byNumber(answer.by_number),
    kept(answer),
    lessLikely(answer.given_up),
    answer.why && costs(answer),
    section("Assumed", h("div", { class: "assumed" }, list(answer.assumptions.words))),
  );
}

function verdict({ words, closeness, by_number: numbers, pass }) {
  const chosen = numbers.find((each) => each.give === pass.length);
  return h(
    "section",
    { class: "verdict" },
    h("h2", {}, `${words.round}: what to pass`),
    h("p", { class: "the-pass", id: "the-pass" }, tileRow(pass, "large", chosen?.blind ?? 0)),
    h("p", { class: "in-words", "aria-hidden": "true" }, words.pass),
    facts(
      [
        ["How close", capital(words.closeness), "close"],
        ["Rack strength", words.strength, "strength"],
        ["Some hand", words.some_hand, "some"],
        ["Proof", words.proof, "proof"],
      ],
      closeness.word === "clear" || closeness.word === "only pass" ? "settled" : "",
    ),
    h("p", { class: "hint" }, words.strength_note),
  );
}

function runnersUp(alternatives) {
  if (!alternatives.length) return null;
  const title = alternatives.length > 1 ? "Runners-up" : "Runner-up";
  const rows = alternatives.map(({ pass, words }) => [tileRow(pass, "small"), words.strength, words.loss]);
  return section(title, table("Runners-up", ["Pass", "Rack strength", "Against the best"], rows, [1, 2]));
}

function byNumber(numbers) {
  if (numbers.length < 2) return null;
  const rows = numbers.map(({ pass, words }) => [
    words.give,
    tileRow(pass, "small"),
    words.strength,
    words.loss,
  ]);
  const head = ["Of your own", "Best tiles for that number", "Rack strength", "Against the best"];
  return section("How many to give", table("Each number that may go", head, rows, [2, 3]));
}

function kept({ words, hands }) {
  return section(
    "Within reach after the pass",
    h("p", {}, `${words.kept}.`),
    words.alone_note && h("p", { class: "hint" }, words.alone_note),
    handLegend(),
    h(
      "ol",
      { class: "hands" },
      hands.map((hand) => handEntry(hand, hands[0].reach)),
    ),
  );
}

function lessLikely(lost) {
  if (!lost.length) return null;
  const rows = lost.map(({ name, family, words }) => [
    `${name} (${family})`,
    words.from,
    words.to,
    words.lost,
  ]);
  return section(
    "Made less likely",
    table(
      "Hands made less likely, the greatest loss first",
      ["Hand", "Before", "After", "Change"],
      rows,
      [1, 2, 3],
    ),
  );
}

function costs({ why: { costs: each, sensitivity }, pass: advised }) {
  const rows = each.map(({ pass, words }) => [
    words.tile,
    words.loss,
    pass && pass.join() !== advised.join() ? tileRow(pass, "small") : "",
  ]);
  return section(
    "What it costs to pass each tile",
    table("Cost of passing a tile, the others chosen best", ["Tile", "Cost", "Best pass with it"], rows),
    sensitivity.length > 0 && h("h4", {}, "If fewer or more tiles come"),
    sensitivity.map(({ words }) => h("p", { class: "hint" }, words)),
  );
}
