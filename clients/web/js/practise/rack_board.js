/** The rack as tiles to choose from, by touch, pointer or keyboard. */

import { h, put } from "../shared/dom.js";
import { back, face } from "../tiles/face.js";
import { JOKER, tileWords } from "../tiles/kinds.js";

const MOVES = { ArrowRight: 1, ArrowLeft: -1, Home: -Infinity, End: Infinity };

/**
 * Return the board.
 * @param {(at: number) => void} chosen Told of the tile that is tapped.
 */
export function rackBoard(chosen) {
  const element = h("div", {
    class: "board",
    role: "group",
    "aria-label": "Your rack",
    on: { keydown: move },
  });
  let buttons = [];

  function move(event) {
    const at = buttons.indexOf(document.activeElement);
    if (at < 0 || event.ctrlKey || event.metaKey || event.altKey) return;
    let step = MOVES[event.key];
    // Up and down by a row, whatever number of tiles a row has at this width.
    if (event.key === "ArrowDown" || event.key === "ArrowUp")
      step = (event.key === "ArrowDown" ? 1 : -1) * perRow();
    if (step === undefined) return;
    event.preventDefault();
    focus(Math.min(buttons.length - 1, Math.max(0, at + step)));
  }

  function perRow() {
    const top = buttons[0].offsetTop;
    return buttons.filter((button) => button.offsetTop === top).length;
  }

  function focus(at) {
    buttons.forEach((button, each) => (button.tabIndex = each === at ? 0 : -1));
    buttons[at].focus();
  }

  return {
    element,
    focus,
    /** Show a rack: which positions are chosen, and which tiles have just come in. */
    show(rack, picks, fresh) {
      const had = buttons.indexOf(document.activeElement);
      const tab = Math.max(0, had);
      buttons = rack.map((token, at) => {
        const picked = picks.includes(at);
        const isNew = fresh.includes(at);
        return h(
          "button",
          {
            type: "button",
            class: `tile-button${picked ? " picked" : ""}${isNew ? " fresh" : ""}`,
            tabindex: at === tab ? "0" : "-1",
            "aria-pressed": String(picked),
            "aria-label": `${tileWords(token)}${isNew ? ", just came in" : ""}${token === JOKER ? ", may not be passed" : ""}`,
            data: { token },
            on: { click: () => chosen(at) },
          },
          face(token),
          h("span", { class: "flag", "aria-hidden": "true" }, picked ? "pass" : isNew ? "new" : ""),
        );
      });
      put(element, buttons);
      if (had >= 0) buttons[Math.min(had, buttons.length - 1)].focus();
    },
    /** Show backs only. */
    hide(count) {
      buttons = [];
      put(
        element,
        Array.from({ length: count }, () => h("span", { class: "tile-back" }, back())),
      );
    },
  };
}
