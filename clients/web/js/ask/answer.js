/** An answer: the pass first, then why, then all that it rests on. */

import { h } from "../shared/dom.js";
import { handEntry, handLegend } from "../shared/hand.js";
import { table } from "../shared/table.js";
import { CALLS, counted, fine, hands, percent, plain, rounded, roundWords } from "../shared/words.js";
import { allInWords, inGroups, tileWords } from "../tiles/kinds.js";
import { tileRow } from "../tiles/row.js";

/**
 * Show an answer of `v1/advice`.
 * @throws {TypeError} It does not have that shape.
 */
export function answerView(answer) {
  return h(
    "article",
    { class: "answer" },
    verdict(answer),
    answer.why && h("section", {}, h("h3", {}, "Why"), h("p", {}, answer.why.sentence)),
    runnersUp(answer),
    byNumber(answer),
    ahead(answer.look_ahead),
    kept(answer),
    givenUp(answer.given_up),
    answer.why && costs(answer),
    assumed(answer.assumptions),
  );
}

function verdict(answer) {
  const chosen = answer.by_number.find((each) => each.give === answer.pass.length);
  const blind = chosen?.blind ?? 0;
  return h(
    "section",
    { class: "verdict" },
    h("h2", {}, `Pass, ${roundWords(answer.round)}`),
    h("p", { class: "the-pass", id: "the-pass" }, tileRow(answer.pass, "large", blind)),
    h(
      "p",
      { class: "in-words", "aria-hidden": "true" },
      [allInWords(answer.pass), blind ? `and ${blind} blind` : ""].filter(Boolean).join(" "),
    ),
    h("p", { class: `call ${answer.call.word ?? ""}`.trim() }, callWords(answer.call)),
    h(
      "dl",
      { class: "facts" },
      fact("Expected hands after the pass", hands(answer.expected_hands), "after"),
      fact("with the whole rack", hands(answer.expected_hands_before), "before"),
      answer.some_hand !== null &&
        fact("Some hand", `${percent(answer.some_hand)} to complete one, as simulated tables went`, "some"),
      fact("Proof", proofWords(answer.proof), "proof"),
    ),
  );
}

const fact = (name, value, key) => h("div", {}, h("dt", {}, name), h("dd", { data: { fact: key } }, value));

function callWords(call) {
  if (call.word === null) return "Not weighed: there is no runner-up";
  const says = CALLS[call.word] ?? call.word;
  if (!call.gap) return `${says}.`;
  return `${says}: the runner-up is worth ${fine(call.gap)} hands less${call.share === null ? "" : ` (${percent(call.share)})`}.`;
}

function proofWords(proof) {
  if (proof.status === "optimal")
    return `proved best: no pass is worth more, to within ${plain(proof.resolution)} of a hand`;
  return `not proved: the work allowed ran out; the best there can be is ${hands(proof.bound)}, which is ${fine(proof.gap)} more`;
}

function runnersUp({ alternatives }) {
  if (!alternatives.length) return null;
  const rows = alternatives.map((other) => [
    tileRow(other.pass, "small"),
    hands(other.expected_hands),
    other.gap ? `${fine(other.gap)} less` : "the same",
  ]);
  return h(
    "section",
    {},
    h("h3", {}, alternatives.length > 1 ? "Runners-up" : "Runner-up"),
    table("Runners-up", ["Pass", "Expected hands", "Against the best"], rows, [1, 2]),
  );
}

function byNumber(answer) {
  if (answer.by_number.length < 2) return null;
  const blind = answer.by_number.some((each) => each.blind);
  const rows = answer.by_number.map((each) => [
    `${each.give}${each.give === answer.pass.length ? " (best)" : ""}`,
    ...(blind ? [String(each.blind)] : []),
    tileRow(each.pass, "small"),
    hands(each.expected_hands),
    fine(each.gain),
  ]);
  const head = ["Own", ...(blind ? ["Blind"] : []), "Best tiles for that number", "Expected hands", "Gain"];
  return h(
    "section",
    {},
    h("h3", {}, "How many to give"),
    table("Each number that may go, and its gain over the fewest", head, rows, blind ? [1, 3, 4] : [2, 3]),
  );
}

function ahead(look) {
  if (!look) return null;
  const rows = look.passes.map((each, at) => [
    tileRow(each.pass, "small"),
    hands(each.mean),
    fine(each.behind),
    fine(each.error),
    at === look.chosen ? "yes" : "",
  ]);
  const says = look.changed
    ? "Looking ahead, another pass is better."
    : "Looking ahead does not change the answer.";
  return h(
    "section",
    {},
    h("h3", {}, "Looking ahead"),
    h("p", {}, `${says} ${counted(look.samples, "sample")} over ${counted(look.exchanges, "exchange")}.`),
    table(
      "Passes compared by where they lead",
      ["Pass", "Mean hands at the end", "Behind", "Error", "Chosen"],
      rows,
      [1, 2, 3],
    ),
  );
}

function kept(answer) {
  const of = counted(answer.assumptions.card.hands, "hand");
  return h(
    "section",
    {},
    h("h3", {}, "Within reach after the pass"),
    h(
      "p",
      {},
      `${answer.hands_in_reach} of ${of}${answer.hands.length < answer.hands_in_reach ? `, of which the likeliest ${answer.hands.length}` : ""}.`,
    ),
    answer.hands.some((hand) => hand.alone !== null) &&
      h("p", { class: "hint" }, "Alone: the chance for a player who from now on goes for that hand only."),
    handLegend(),
    h(
      "ol",
      { class: "hands" },
      answer.hands.map((hand) => handEntry(hand, answer.hands[0].reach)),
    ),
  );
}

function givenUp(lost) {
  if (!lost.length) return null;
  const rows = lost.map((hand) => [
    `${hand.name} (${hand.family})`,
    percent(hand.reach_before),
    percent(hand.reach),
    `-${percent(hand.lost)}`,
  ]);
  return h(
    "section",
    {},
    h("h3", {}, "Made less likely"),
    table(
      "Hands made less likely, the greatest loss first",
      ["Hand", "Before", "After", "Change"],
      rows,
      [1, 2, 3],
    ),
  );
}

function costs(answer) {
  const rows = answer.why.costs.map((cost) => [
    tileWords(cost.tile),
    cost.cost === null ? "-" : fine(cost.cost),
    costWords(cost, answer.pass),
  ]);
  return h(
    "section",
    {},
    h("h3", {}, "What it costs to pass each tile"),
    table("Cost of passing a tile, the others chosen best", ["Tile", "Cost", "Best pass with it"], rows, [1]),
    answer.why.sensitivity.length > 0 && h("h4", {}, "If fewer or more tiles come"),
    answer.why.sensitivity.map((each) => h("p", { class: "hint" }, sensitivityWords(each))),
  );
}

function costWords(cost, advised) {
  if (cost.pass === null) return "the limits allow no pass with it";
  if (cost.pass.join() === advised.join()) return "in the advised pass";
  return tileRow(cost.pass, "small");
}

function sensitivityWords({ arrivals, share, same, pass, regret }) {
  const comes = `${rounded(100 * share, 0)} % as many, ${coming(arrivals)}`;
  return same
    ? `${comes}: the same pass.`
    : `${comes}: ${inGroups(pass)} is better, by ${fine(regret)} hands.`;
}

/** What is to come from the wall and from others. */
function coming({ draws, claims, lengths }) {
  if (lengths.length === 1) {
    const [only] = lengths;
    return `${counted(only.draws, "tile")} from the wall, ${counted(only.claims, "discard")} to claim from`;
  }
  const means = `${rounded(draws, 1)} tiles from the wall and ${rounded(claims, 1)} discards to claim from`;
  return `on average ${means} (${lengths.length} lengths of play)`;
}

const toCome = (arrivals) => `exchanges worth ${counted(arrivals.charleston, "tile")}; ${coming(arrivals)}`;

function assumed({ arrivals, arrivals_alone: alone, card, unseen, limits, versions }) {
  return h(
    "section",
    { class: "assumed" },
    h("h3", {}, "Assumed"),
    h(
      "ul",
      {},
      h("li", {}, `To come: ${toCome(arrivals)}.`),
      alone && h("li", {}, `To come to a player of one hand alone: ${toCome(alone)}.`),
      h(
        "li",
        {},
        `Unseen: ${counted(unseen.naturals, "tile")} and ${counted(unseen.jokers, "joker")}, each as likely to come as any other.`,
      ),
      h("li", {}, `Card: ${card.title}, ${counted(card.hands, "hand")}, ${counted(card.targets, "target")}.`),
      h("li", {}, `Limits: ${limits.length ? limits.join("; ") : "none"}.`),
      h(
        "li",
        {},
        `${Object.entries(versions)
          .map(([name, version]) => `${name} ${version}`)
          .join(", ")}.`,
      ),
    ),
  );
}
