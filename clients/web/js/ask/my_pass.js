/** A pass of one's own, chosen from the rack, to be held against the best. */

import { h, put } from "../shared/page.js";
import { part } from "../shared/parts.js";
import { PASS_SIZE } from "../shared/rounds.js";
import { JOKER, inOrder, readTiles, tileWords } from "../tiles/kinds.js";
import { face } from "../tiles/tile.js";

/**
 * Return the part of the form. Its value is a part of a request: `mine`, or nothing while none is chosen.
 * @param {() => void} changed
 */
export function myPass(changed) {
  let rack = [];
  let picks = [];
  const tiles = h("div", { class: "tray mine", role: "group", "aria-label": "My pass" });
  const says = h("p", { class: "hint", role: "status" });
  const element = part(
    "And my own pass?",
    "my-pass",
    h(
      "p",
      { class: "hint" },
      "Choose the tiles that you would pass; the answer holds them against the best.",
    ),
    tiles,
    says,
  );

  function pick(at) {
    if (picks.includes(at)) picks = picks.filter((each) => each !== at);
    else if (rack[at] === JOKER) return void (says.textContent = "A joker may never be passed.");
    else if (picks.length === PASS_SIZE)
      return void (says.textContent = "Three are chosen: take one back first.");
    else picks = [...picks, at];
    draw();
    changed();
  }

  function draw() {
    says.textContent = rack.length
      ? `${picks.length} of ${PASS_SIZE} chosen.`
      : "Put tiles on the rack first.";
    const had = [...tiles.children].indexOf(document.activeElement);
    put(
      tiles,
      rack.map((token, at) =>
        h(
          "button",
          {
            type: "button",
            class: `held ${picks.includes(at) ? "picked" : ""}`,
            "aria-pressed": String(picks.includes(at)),
            "aria-label": `Pass ${tileWords(token)}`,
            on: { click: () => pick(at) },
          },
          face(token),
        ),
      ),
    );
    if (had >= 0) tiles.children[had]?.focus();
  }

  /** Choose these tiles of the rack, as far as it has them. */
  function choose(tokens) {
    picks = [];
    for (const token of tokens) {
      const at = rack.findIndex((held, place) => held === token && !picks.includes(place));
      if (at >= 0) picks.push(at);
    }
    draw();
  }

  draw();
  return {
    element,
    /** Show the tiles of a rack; those chosen stay so, if they are still there. */
    follow(text) {
      const chosen = picks.map((at) => rack[at]);
      rack = inOrder(readTiles(text).tokens);
      choose(chosen);
    },
    get value() {
      return picks.length ? { mine: picks.map((at) => rack[at]) } : {};
    },
    set value({ mine = [] }) {
      choose(Array.isArray(mine) ? mine : readTiles(mine).tokens);
      element.open = picks.length > 0;
    },
  };
}
