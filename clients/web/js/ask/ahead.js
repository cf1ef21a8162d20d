/** What else may be asked of the same rack: a plan over the next passes, and whether to stop after the first Charleston. */

import { h } from "../shared/page.js";
import { facts, list, section } from "../shared/parts.js";
import { tileRow } from "../tiles/tile.js";

const ROUNDS = 3;

/** The questions: a name for the button, where it is asked, how, and how its answer is shown. */
export const AHEAD = [
  {
    label: "Plan the next passes",
    path: "v1/plans",
    question: (asked) => without(asked, "mine"),
    // As far as the round leaves any: more than can be played is refused.
    more: (left) => ({ rounds: Math.min(ROUNDS, left) }),
    view: planView,
  },
  {
    label: "Stop, or play the second Charleston?",
    path: "v1/votes",
    question: (asked) => without(asked, "mine", "round", "give", "drill"),
    more: () => ({}),
    view: voteView,
  },
];

const without = (asked, ...names) =>
  Object.fromEntries(Object.entries(asked).filter(([name]) => !names.includes(name)));

function planView({ rounds, words }) {
  return h(
    "article",
    { class: "answer" },
    h("h2", {}, "What goes now, and what goes next"),
    h("p", { class: "hint" }, "An order for your own tiles, in case nothing better comes in."),
    h(
      "ol",
      { class: "plan" },
      rounds.map(({ pass, words: says }) =>
        h(
          "li",
          {},
          h("strong", {}, says.round),
          tileRow(pass, "middle"),
          h("span", { class: "hint" }, says.strength),
        ),
      ),
    ),
    list([words.note, words.proof, words.strength_note].filter(Boolean)),
  );
}

function voteView({ words, assumptions }) {
  const { verdict, stop, go_on: goOn, difference, samples, ...rest } = words;
  return h(
    "article",
    { class: "answer" },
    h("h2", {}, "Stop, or go on?"),
    h("p", { class: "in-words" }, h("strong", {}, verdict)),
    facts([
      ["If the second is stopped", stop],
      ["If it is played", goOn],
      ["Difference", difference],
      ["From", samples],
    ]),
    list(Object.values(rest).filter(Boolean)),
    section("Assumed", h("div", { class: "assumed" }, list(assumptions.words))),
  );
}
