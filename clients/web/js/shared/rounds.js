/** The rounds of a Charleston and the rules of a pass (common practice, no source). */

import { JOKER, tally, tileWords } from "../tiles/kinds.js";
import { h, newId, put } from "./page.js";
import { choice, field, list, part } from "./parts.js";
import { counted } from "./words.js";

export const PASS_SIZE = 3;
export const COURTESY = "courtesy";
const AFTER = "After";
const SECOND = "Any one player may stop the second Charleston before it begins; without a stop it is played.";
const BLIND = "Blind: fewer tiles of your own, and as many of the incoming ones go on unseen.";
const GROUPS = [
  [
    "First",
    [
      { round: "first_right", label: "Right", arrow: "→", rule: "" },
      { round: "first_across", label: "Across", arrow: "↑", rule: "" },
      { round: "first_left", label: "Left", arrow: "←", rule: BLIND, blind: true },
    ],
  ],
  [
    "Second",
    [
      { round: "second_left", label: "Left", arrow: "←", rule: SECOND },
      { round: "second_across", label: "Across", arrow: "↑", rule: SECOND },
      { round: "second_right", label: "Right", arrow: "→", rule: `${SECOND} ${BLIND}`, blind: true },
    ],
  ],
  [
    AFTER,
    [
      {
        round: COURTESY,
        label: "Courtesy",
        arrow: "↑",
        rule: "After either Charleston: none to three tiles across; the smaller wish of the two players decides.",
      },
    ],
  ],
];
const ROUNDS = GROUPS.flatMap(([, rounds]) => rounds);
export const EXCHANGES = ROUNDS.filter(({ round }) => round !== COURTESY).map(({ round }) => round);
const ruleOf = (round) => ROUNDS.find((each) => each.round === round);

export const allowsBlind = (round) => Boolean(ruleOf(round).blind);

/** How many passes can still be played from a round on, a courtesy pass among them. */
export const roundsLeft = (round) => ROUNDS.length - ROUNDS.findIndex((each) => each.round === round);

/** A round's name for people. */
export const roundWords = (round) => round.replace("_", " ");

/** Return the rounds of a drill: after the sixth they begin again; a courtesy pass may end it. */
export function roundsOf(count, courtesy) {
  const rounds = Array.from({ length: count }, (_, at) => EXCHANGES[at % EXCHANGES.length]);
  return courtesy ? [...rounds, COURTESY] : rounds;
}

/** A drill's round by its place: what follows the second Charleston is an extra exchange. */
export function placeWords(rounds, at) {
  const extra = at - EXCHANGES.length + 1;
  const direction = ruleOf(rounds[at]).label.toLowerCase();
  return extra > 0 && rounds[at] !== COURTESY
    ? `extra exchange ${extra}, ${direction}`
    : roundWords(rounds[at]);
}

/** Return every fault of a pass, as sentences; none when the rules allow it. */
export function passFaults(given, blind, rack, round) {
  return [...countFaults(given.length, blind, round), ...rackFaults(given, rack)];
}

function countFaults(tiles, blind, round) {
  if (round === COURTESY)
    return tiles <= PASS_SIZE && blind === 0 ? [] : [`A courtesy pass is of 0 to ${PASS_SIZE} tiles.`];
  if (!allowsBlind(round)) {
    return tiles === PASS_SIZE && blind === 0
      ? []
      : [`${counted(tiles, "tile")} chosen: ${roundWords(round)} takes exactly ${PASS_SIZE}.`];
  }
  return tiles + blind === PASS_SIZE
    ? []
    : [`${counted(tiles, "tile")} and ${blind} blind: they must make ${PASS_SIZE}.`];
}

function rackFaults(given, rack) {
  const held = tally(rack);
  return [...tally(given)].flatMap(([token, count]) => {
    if (token === JOKER) return ["A joker may never be passed."];
    const has = held.get(token) ?? 0;
    return has < count ? [`${count} of ${tileWords(token)}: the rack has ${has}.`] : [];
  });
}

/** Return the choice of a round and of how many own tiles go. */
export function roundChoice(changed) {
  const name = newId("round");
  const radios = [];
  const give = field(
    "Tiles of your own to give",
    choice([["", "Whatever is best"], ...[0, 1, 2, 3].map((count) => [String(count), `Exactly ${count}`])], {
      on: { change: () => changed() },
    }),
  );
  const rule = h("p", { class: "hint round-rule", role: "status" });
  const chosen = () => radios.find((radio) => radio.checked).value;

  function show() {
    const round = chosen();
    give.element.hidden = round !== COURTESY && !allowsBlind(round);
    put(rule, ruleOf(round).rule);
    rule.hidden = !ruleOf(round).rule;
  }

  const groups = GROUPS.map(([title, rounds]) =>
    h(
      "div",
      {
        class: "round-group",
        role: "group",
        "aria-label": title === AFTER ? title : `${title} Charleston`,
      },
      title !== AFTER && h("span", { class: "group-name", "aria-hidden": "true" }, title),
      h(
        "div",
        { class: "pills" },
        rounds.map(({ round, label, arrow }) => {
          const radio = h("input", {
            type: "radio",
            name,
            value: round,
            on: { change: () => (show(), changed()) },
          });
          radios.push(radio);
          return h(
            "label",
            { class: "pill" },
            radio,
            h("span", {}, h("span", { class: "arrow", "aria-hidden": "true" }, arrow), ` ${label}`),
          );
        }),
      ),
    ),
  );
  radios[0].checked = true;
  show();
  return {
    element: h(
      "fieldset",
      { class: "rounds" },
      h("legend", { class: "sr" }, "Round"),
      groups,
      rule,
      give.element,
    ),
    fault: give.fault,
    get control() {
      return give.element.hidden ? radios[0] : give.control;
    },
    get leavesChoice() {
      return !give.element.hidden;
    },
    get value() {
      const given = give.element.hidden ? "" : give.control.value;
      return { round: chosen(), ...(given === "" ? {} : { give: Number(given) }) };
    },
    set value({ round, give: given = null }) {
      const radio = radios.find((each) => each.value === round);
      if (radio) radio.checked = true;
      give.control.value = given === null ? "" : String(given);
      show();
      changed();
    },
  };
}

/** The rules that every number here rests on. */
export const rulesPanel = () =>
  part(
    "The rules, as commonly played",
    "rules",
    list([
      "The first Charleston (right, across, left) is compulsory. Any one player may stop the second (left, across, right).",
      "The last pass of each Charleston may be blind: pass on up to three incoming tiles unseen in place of your own.",
      "A courtesy pass across may follow either Charleston: none to three tiles, and the smaller wish of the two decides.",
      "A joker is never passed. It stands for a tile only in a group of three or more alike.",
      "A discard may be called for a group of three or more of a hand that is not concealed; the last tile that a hand needs, for a pair, a single or a concealed hand too. A discarded joker cannot be called.",
      "Exchanging a tile for an exposed joker exists; the chances here leave it out.",
    ]),
  );
