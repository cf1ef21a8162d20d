/** Which card: one the service has, or one's own. */

import { h, put } from "../shared/dom.js";
import { field } from "../shared/field.js";
import { cards } from "./catalogue.js";
import { ownCard } from "./own_card.js";

const OWN = "(own)";

/**
 * Return the choice of a card. Its value is what requests take: a name, or a file's text with its name.
 * @param {(card: string|Object|null) => void} changed Told null while one's own card is not known to be right.
 */
export function cardChooser(changed = () => {}) {
  const select = h("select", { on: { change: () => show() } });
  const labelled = field("Card", select);
  const own = ownCard((card) => changed(card));
  own.element.hidden = true;
  offer([
    { name: "full", title: "full" },
    { name: "small", title: "small" },
  ]);
  load();

  async function load() {
    const found = await cards();
    // Chosen while the list was on its way, perhaps.
    const was = select.value;
    offer(found);
    select.value = was;
  }

  function offer(found) {
    put(
      select,
      found.map((card) =>
        h(
          "option",
          { value: card.name },
          card.title === card.name ? card.name : `${card.title} (${card.name})`,
        ),
      ),
      h("option", { value: OWN }, "A card file of my own…"),
    );
  }

  function show() {
    own.element.hidden = select.value !== OWN;
    labelled.fault([]);
    changed(select.value === OWN ? null : select.value);
  }

  return {
    element: h("div", { class: "card-chooser" }, labelled.element, own.element),
    fault: labelled.fault,
    get value() {
      return select.value === OWN ? own.card : select.value;
    },
    set value(card) {
      const named = typeof card === "string";
      if (named && ![...select.options].some((option) => option.value === card))
        select.prepend(h("option", { value: card }, card));
      select.value = named ? card : OWN;
      show();
      if (!named) own.fill(card);
    },
    /** Ask again which cards there are, once the service is back. */
    reload: load,
  };
}

/** A card in a word. */
export const cardName = (card) => (typeof card === "string" ? card : card.file);
