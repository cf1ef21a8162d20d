/** The choice of a card in a form: one for all views. */

import { h, put } from "../shared/page.js";
import { field } from "../shared/parts.js";
import * as shelf from "./shelf.js";

const SOURCES = [
  ["Practice cards", (cards) => cards.filter((card) => card.source !== "folder")],
  ["Cards of this server", (cards) => cards.filter((card) => card.source === "folder")],
];

/**
 * Return the choice. Its value is what requests take.
 * @param {() => void} changed Told when another card is chosen, here or elsewhere, or the chosen one is changed.
 */
export function cardChooser(changed = () => {}) {
  const select = h("select", { on: { change: () => shelf.choose(select.value) } });
  const labelled = field("Card", select);
  let before = "";

  function show() {
    const id = shelf.chosenId();
    const groups = SOURCES.map(([label, of]) => [
      label,
      of(shelf.ofService().cards).map(({ name, title }) => [name, title]),
    ]);
    groups.push(["In this browser", shelf.ofBrowser().map((card) => [card.id, card.title || "(no name)"])]);
    if (!groups.some(([, cards]) => cards.some(([each]) => each === id))) groups[0][1].push([id, id]);
    put(
      select,
      groups
        .filter(([, cards]) => cards.length)
        .map(([label, cards]) =>
          h(
            "optgroup",
            { label },
            cards.map(([value, title]) => h("option", { value }, title)),
          ),
        ),
    );
    select.value = id;
    const now = JSON.stringify(shelf.asRequest(id));
    if (now === before) return;
    before = now;
    labelled.fault([]);
    changed();
  }

  shelf.onChange(show);
  show();
  return {
    element: h(
      "div",
      { class: "card-chooser" },
      labelled.element,
      h("a", { href: "#/cards" }, "Look at cards, or make one"),
    ),
    control: select,
    fault: labelled.fault,
    get value() {
      return shelf.asRequest(shelf.chosenId());
    },
    set value(card) {
      shelf.adopt(card);
    },
  };
}
