/** Which card: one the service has, or one's own. */

import { h, put } from "../shared/page.js";
import { field } from "../shared/parts.js";
import { get } from "../shared/service.js";
import { checked, ownCard } from "./own_card.js";

const OWN = "(own)";
/** What there is when the service cannot be asked; requests name cards so. */
const ALWAYS = [
  { name: "full", title: "full" },
  { name: "small", title: "small" },
];
let listed = null;
const contents = new Map();

/** Return the cards: name and title of each. Does not fail. */
async function cards() {
  listed ??= get("v1/cards").then((answer) => answer.cards);
  try {
    return await listed;
  } catch {
    listed = null;
    return ALWAYS;
  }
}

/**
 * Return a card in full, for the names of its hands and families.
 * @param {string|{toml: string, file: string}} card
 * @throws {ServiceError}
 */
export async function cardInFull(card) {
  const key = typeof card === "string" ? card : card.toml;
  if (!contents.has(key)) {
    const asked =
      typeof card === "string"
        ? get(`v1/cards/${encodeURIComponent(card)}`)
        : checked(card).then((check) => check.card);
    contents.set(key, asked);
    asked.catch(() => contents.delete(key));
  }
  return contents.get(key);
}

/**
 * Return the choice of a card. Its value is what requests take: a name, or a file's text with its name.
 * @param {(card: string|Object|null) => void} changed Told null while one's own card is not known to be right.
 */
export function cardChooser(changed = () => {}) {
  const select = h("select", { on: { change: () => show() } });
  const labelled = field("Card", select);
  const own = ownCard((card) => changed(card));
  own.element.hidden = true;
  offer(ALWAYS);
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
    control: select,
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
