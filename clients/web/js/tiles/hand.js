/** One hand within reach: its chance, its tiles, which of them are held and which are missing. */

import { h, hidden } from "../shared/page.js";
import { JOKER, allInWords, inGroups, tally } from "./kinds.js";
import { face } from "./tile.js";

/**
 * Show a hand as the service tells it.
 * @param {Object} hand
 * @param {number} most The greatest chance of the list, for the length of the meter.
 */
export function handEntry(hand, most = 1) {
  const { chance, facts, concealed, jokers } = hand.words;
  const meter = h("span", { class: "meter", "aria-hidden": "true" }, h("span", {}));
  meter.firstChild.style.width = `${Math.max(1.5, (100 * hand.reach) / most)}%`;
  return h(
    "li",
    { class: "hand" },
    h(
      "div",
      { class: "hand-head" },
      h("strong", { class: "reach" }, chance),
      h(
        "span",
        { class: "hand-name" },
        h("span", {}, hand.name),
        ` (${[hand.family, concealed].filter(Boolean).join(", ")})`,
      ),
      h("span", { class: "away" }, facts),
    ),
    meter,
    h(
      "span",
      { class: "tiles small wrap" },
      hidden(`Tiles: ${allInWords(hand.target)}.`),
      states(hand).map(([token, state]) => face(token, state)),
    ),
    h(
      "p",
      { class: "held-missing" },
      h("span", {}, "held ", h("code", {}, inGroups(hand.served_by)), jokers && ` (${jokers})`),
      h("span", {}, "missing ", h("code", {}, inGroups(hand.missing))),
    ),
  );
}

/** Explain what is shown of a hand, and how its tiles are drawn. */
export const handLegend = () => [
  h(
    "p",
    { class: "hint" },
    "Each hand of the card with its chance, its family (a group of the card's hands) in brackets, and one target: fourteen tiles that make it.",
  ),
  h(
    "p",
    { class: "hint legend" },
    h("span", {}, h("span", { class: "tiles small" }, face("5c")), " held"),
    h("span", {}, h("span", { class: "tiles small" }, face("5c", "joker")), " a joker stands for it"),
    h("span", {}, h("span", { class: "tiles small" }, face("5c", "missing")), " missing"),
  ),
];

/** Each tile of the target and whether it is held, stood for by a joker, or missing. */
function states(hand) {
  const held = tally(hand.served_by.filter((token) => token !== JOKER));
  const missing = tally(hand.missing);
  const wanted = tally(hand.target);
  const seen = new Map();
  return hand.target.map((token) => {
    const at = seen.get(token) ?? 0;
    seen.set(token, at + 1);
    if (at < (held.get(token) ?? 0)) return [token, ""];
    return [token, at < wanted.get(token) - (missing.get(token) ?? 0) ? "joker" : "missing"];
  });
}
