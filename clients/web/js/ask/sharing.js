/** A question as a part of the address, and back; and the link to it. */

import { h } from "../shared/page.js";

const VIEW = "#/ask";
// What the service takes at most: more is not unpacked, as few letters can stand for a full memory.
const MOST_BYTES = 2 ** 20;
// A card file longer than this, two hundred hands and more, is shown before it is asked about.
const DEAR_LETTERS = 30_000;

/** Return the link's place, empty until a link is offered. */
export function sharing() {
  const link = h("input", {
    type: "text",
    readonly: true,
    class: "mono",
    "aria-label": "Link to this question",
  });
  const says = h("span", { class: "hint", role: "status", "aria-live": "polite" });
  const copy = h("button", { type: "button", on: { click: () => copied() } }, "Copy link");
  const element = h("div", { class: "share", hidden: true }, link, copy, says);

  async function copied() {
    link.select();
    try {
      await navigator.clipboard.writeText(link.value);
      says.textContent = "Copied.";
    } catch {
      // Not allowed here, as on a plain HTTP address: the link is selected instead.
      says.textContent = "Selected: copy it with Ctrl + C.";
    }
  }

  return {
    element,
    offer(address) {
      link.value = address;
      says.textContent = "";
      element.hidden = false;
    },
  };
}

/**
 * Return the address's fragment for a question.
 * @param {Object} question A request of advice; a card file in it is packed into the address.
 */
export async function fragmentOf({ rack, round, card, ...rest }) {
  const written = new URLSearchParams({ rack, round });
  if (typeof card === "string") written.set("card", card);
  else if (card.toml === undefined) written.set("form", await packed(JSON.stringify(card)));
  else {
    written.set("file", card.file);
    written.set("toml", await packed(card.toml));
  }
  if (Object.keys(rest).length) written.set("more", JSON.stringify(rest));
  return `${VIEW}?${written}`;
}

/** Return a question's fragment that fills the form and waits: the answer is not given away. */
export const waiting = async (question) => `${await fragmentOf(question)}&wait=1`;

/** Tell whether an address is one that waits. */
export const waits = (fragment) => fragment.endsWith("&wait=1");

/** Tell whether the answer to a question of somebody else's may take long. */
export const isDear = ({ card }) =>
  typeof card !== "string" && (card.toml ?? JSON.stringify(card)).length > DEAR_LETTERS;

/** Return the question in a fragment, or null; what cannot be read of it throws an Error. */
export async function questionIn(fragment) {
  const [view, query] = [fragment.slice(0, fragment.indexOf("?")), fragment.slice(fragment.indexOf("?") + 1)];
  if (view !== VIEW) return null;
  const written = new URLSearchParams(query);
  if (!written.has("rack")) return null;
  const more = JSON.parse(written.get("more") ?? "{}");
  if (more === null || typeof more !== "object" || Array.isArray(more)) throw new Error("more is no object");
  const card = written.has("form")
    ? JSON.parse(await unpacked(written.get("form")))
    : written.has("toml")
      ? { toml: await unpacked(written.get("toml")), file: written.get("file") ?? "card.toml" }
      : (written.get("card") ?? "full");
  return { ...more, rack: written.get("rack"), round: written.get("round") ?? "first_right", card };
}

async function packed(text) {
  const bytes = await through(new CompressionStream("deflate-raw"), new TextEncoder().encode(text));
  return btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replaceAll("=", "");
}

async function unpacked(written) {
  const bytes = Uint8Array.from(atob(written.replaceAll("-", "+").replaceAll("_", "/")), (letter) =>
    letter.charCodeAt(0),
  );
  return new TextDecoder().decode(await through(new DecompressionStream("deflate-raw"), bytes));
}

async function through(stream, bytes) {
  const reader = new Blob([bytes]).stream().pipeThrough(stream).getReader();
  const parts = [];
  let size = 0;
  for (let part = await reader.read(); !part.done; part = await reader.read()) {
    size += part.value.length;
    if (size > MOST_BYTES) {
      reader.cancel();
      throw new Error("too much");
    }
    parts.push(part.value);
  }
  return new Uint8Array(await new Blob(parts).arrayBuffer());
}
