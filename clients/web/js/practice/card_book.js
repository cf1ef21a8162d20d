/** The card at hand while a lap is played: its hands drawn, over the table; the clock runs on or waits, as one likes. */

import { drawnHand } from "../cards/drawn.js";
import { html, render, select } from "../shared/draw.js";
import { h, keep, kept } from "../shared/page.js";
import { noticeArea, tick } from "../shared/parts.js";
import { get } from "../shared/service.js";
import { checked } from "../cards/shelf.js";

const PAUSING = "card-pauses";

/**
 * Return the button that opens the card, and the card.
 * @param {string|Object} card As requests take it.
 * @param {{opened: (pausing: boolean) => void, closed: () => void}} to
 */
export function cardBook(card, to) {
  const pausing = tick("Stop the clock while I look");
  pausing.box.checked = kept(PAUSING) ?? false;
  pausing.box.addEventListener(
    "change",
    () => (keep(PAUSING, pausing.box.checked), to.opened(pausing.box.checked)),
  );
  const notice = noticeArea();
  const hands = h("div", {});
  const close = h(
    "button",
    { type: "button", class: "primary", on: { click: () => element.close() } },
    "Back to the rack",
  );
  const element = h(
    "dialog",
    {
      class: "book",
      "aria-label": "The card",
      on: { close: () => to.closed(), keydown: (event) => event.stopPropagation() },
    },
    h("div", { class: "book-head" }, close, pausing.element),
    notice.element,
    hands,
  );
  let found = null;
  let family = "";

  async function open() {
    to.opened(pausing.box.checked);
    element.showModal();
    try {
      found ??=
        typeof card === "string"
          ? await get(`v1/cards/${encodeURIComponent(card)}`)
          : (await checked(card)).card;
      draw();
    } catch (error) {
      notice.show(error, open);
    }
  }

  function draw() {
    const shown = found.hands.filter((hand) => !family || hand.family === family);
    render(
      html`
        ${select(
          "Family",
          [["", "all"], ...found.families.map((name) => [name, name])],
          family,
          (chosen) => {
            family = chosen;
            draw();
          },
          "-book",
        )}
        <ol class="drawn-hands">
          ${shown.map((hand) => drawnHand(hand))}
        </ol>
      `,
      hands,
    );
  }

  return {
    element,
    button: h("button", { type: "button", on: { click: open } }, "Card"),
  };
}
