/** The keys of a view, listed in a panel that opens. */

import { h } from "./dom.js";

/** A key by its name. */
export const key = (name) => h("kbd", {}, name);

/**
 * List what keys do.
 * @param {...Array} lines What each line holds: text and keys.
 */
export function keysPanel(...lines) {
  return h(
    "details",
    { class: "part keys" },
    h("summary", {}, "Keys"),
    h("div", { class: "inside" }, h("ul", {}, ...lines.map((line) => h("li", {}, ...line)))),
  );
}
