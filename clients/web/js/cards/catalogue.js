/** The cards the service has, and what is on a card. */

import { get, post } from "../shared/service.js";

/** What there is when the service cannot be asked; requests name cards so. */
const ALWAYS = [
  { name: "full", title: "full" },
  { name: "small", title: "small" },
];
let listed = null;
const contents = new Map();

/** Return the cards: name and title of each. Does not fail. */
export async function cards() {
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

/** Have a card checked: `ok`, `faults`, `remarks`, `card`. */
export const checked = (card) => post("v1/cards/check", { card });
