/** One hand within reach: its chance, its tiles, which of them are held and which are missing. */

import { h, hidden } from "./dom.js";
import { face } from "../tiles/face.js";
import { JOKER, allInWords, inGroups, tally } from "../tiles/kinds.js";
import { counted, percent } from "./words.js";

/** Show a hand as the API tells it. */
export function handEntry(hand, most = 1) {
  const now = percent(hand.reach);
  const before = percent(hand.reach_before);
  const away = hand.tiles_away === 0 ? "complete" : `${counted(hand.tiles_away, "tile")} away`;
  const alone = hand.alone !== null && hand.tiles_away > 0 && `, ${percent(hand.alone)} alone`;
  const meter = h("span", { class: "meter", "aria-hidden": "true" }, h("span", {}));
  meter.firstChild.style.width = `${Math.max(1.5, (100 * hand.reach) / most)}%`;
  return h(
    "li",
    { class: "hand" },
    h(
      "div",
      { class: "hand-head" },
      h("strong", { class: "reach" }, now),
      h(
        "span",
        { class: "hand-name" },
        h("span", {}, hand.name),
        ` (${hand.family}${hand.concealed ? ", concealed" : ""})`,
      ),
      h("span", { class: "away" }, away, before !== now && `, was ${before}`, alone),
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
      h(
        "span",
        {},
        "held ",
        h("code", {}, inGroups(hand.served_by)),
        hand.jokers_used > 0 && ` (${counted(hand.jokers_used, "joker")} used)`,
      ),
      h("span", {}, "missing ", h("code", {}, inGroups(hand.missing))),
    ),
  );
}

/** Explain how tiles of a hand are drawn. */
export function handLegend() {
  return h(
    "p",
    { class: "hint legend" },
    h("span", {}, h("span", { class: "tiles small" }, face("5c")), " held"),
    h("span", {}, h("span", { class: "tiles small" }, face("5c", "joker")), " a joker stands for it"),
    h("span", {}, h("span", { class: "tiles small" }, face("5c", "missing")), " missing"),
  );
}

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
