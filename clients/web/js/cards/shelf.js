/**
 * The cards there are: those of the service and those of this browser; and the one that is chosen for all views.
 *
 * A card goes by its id: a service's card by its name, one of this browser by `own:` and a number. One of this browser
 * is `{id, title, form, toml}`: `form` is the card written out and `toml` its text; either is null while it is not known.
 */

import { keep, kept } from "../shared/page.js";
import { get, post } from "../shared/service.js";

const OWN = "cards";
const CHOSEN = "card";
const DEFAULT = "full";
/** What there is when the service cannot be asked. */
const ALWAYS = {
  cards: ["full", "small"].map((name) => ({ name, title: name, source: "shipped" })),
  left_out: [],
};

let listed = null;
let known = ALWAYS;
// What the browser would not keep lasts until the page is left.
let own = kept(OWN) ?? [];
let chosen = kept(CHOSEN) ?? DEFAULT;
const contents = new Map();
const listeners = new Set();

/** Tell of every change of the cards or of the choice. */
export const onChange = (listener) => void listeners.add(listener);

const changed = () => listeners.forEach((listener) => listener());

/** Ask which cards the service has; does not fail. */
export async function load() {
  listed ??= get("v1/cards");
  try {
    known = await listed;
  } catch {
    listed = null;
  }
  changed();
}

/** Ask again, as the service may have other cards by now. */
export function reload() {
  listed = null;
  return load();
}

/** The service's cards, as far as it has been heard: `cards` and `left_out`. */
export const ofService = () => known;

/** The cards of this browser. */
export const ofBrowser = () => own;

export const ownCard = (id) => own.find((card) => card.id === id);

/** The id of the chosen card. */
export const chosenId = () => chosen;

export function choose(id) {
  if (id === chosen) return;
  chosen = id;
  keep(CHOSEN, id);
  changed();
}

/** What a card calls itself; a name that nobody knows is returned as it is. */
export const titleOf = (id) =>
  ownCard(id)?.title ?? known.cards.find((card) => card.name === id)?.title ?? id;

/**
 * Return a card as requests take it: a name, a text with its file's name, or the card written out.
 * @param {string} id
 */
export function asRequest(id) {
  const card = ownCard(id);
  if (!card) return id;
  return card.toml === null ? card.form : { toml: card.toml, file: fileOf(card.title) };
}

/** The name of a card's file. */
export const fileOf = (title) =>
  `${
    title
      .replace(/[^\p{L}\p{N} _-]/gu, "")
      .trim()
      .slice(0, 60) || "card"
  }.toml`;

/** A card of a request in a word, as logs name it. */
export function nameOf(card) {
  if (typeof card === "string") return card;
  return card.file?.replace(/\.toml$/, "") ?? card.card?.name ?? "card";
}

/**
 * Keep a new card of this browser and return its id.
 * @param {{title: string, form: Object|null, toml: string|null}} card
 */
export function add(card) {
  const id = `own:${1 + Math.max(0, ...own.map((each) => Number(each.id.slice(4))))}`;
  own = [...own, { ...card, id }];
  write();
  return id;
}

/** Change a card of this browser; return whether the browser keeps it. */
export function save(id, card) {
  own = own.map((each) => (each.id === id ? { ...each, ...card } : each));
  return write();
}

export function remove(id) {
  own = own.filter((each) => each.id !== id);
  if (chosen === id) choose(DEFAULT);
  write();
}

function write() {
  const safe = keep(OWN, own);
  changed();
  return safe;
}

/**
 * Choose the card of a question: one that is sent along is kept in this browser, once.
 * @param {string|Object} card As requests take it.
 */
export function adopt(card) {
  if (typeof card === "string") return choose(card);
  const text = card.toml ?? null;
  const form = text === null ? card : null;
  const same = own.find((each) =>
    text === null ? JSON.stringify(each.form) === JSON.stringify(form) : each.toml === text,
  );
  choose(same ? same.id : add({ title: nameOf(card), form, toml: text }));
}

/** Have a card checked: `ok`, `faults`, `hands`, `card`, `form`, `toml`. */
export const checked = (card, options) => post("v1/cards/check", { card }, options);

/**
 * Return a card in full, with its hands and families.
 * @param {string} id
 * @throws {ServiceError}
 */
export async function inFull(id) {
  const card = asRequest(id);
  const key = typeof card === "string" ? card : JSON.stringify(card);
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
