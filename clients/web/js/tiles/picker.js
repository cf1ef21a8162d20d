/** All kinds of tile, to tap. */

import { h } from "../shared/dom.js";
import { face } from "./face.js";
import { ROWS, copies, tally, tileWords } from "./kinds.js";

/**
 * Offer all kinds.
 * @param {(token: string) => void} chosen
 * @returns {{element: HTMLElement, show: (held: string[]) => void}} `show` marks how many of each are held.
 */
export function picker(chosen) {
  const buttons = new Map();
  const rows = ROWS.map(([name, tokens]) =>
    h(
      "div",
      { class: "kinds", role: "group", "aria-label": name },
      tokens.map((token) => {
        const count = h("span", { class: "count", "aria-hidden": "true" });
        const button = h(
          "button",
          { type: "button", class: "kind", data: { token }, on: { click: () => chosen(token) } },
          face(token),
          count,
        );
        buttons.set(token, { button, count });
        return button;
      }),
    ),
  );
  const show = (held) => {
    const counts = tally(held);
    for (const [token, { button, count }] of buttons) {
      const have = counts.get(token) ?? 0;
      count.textContent = have ? String(have) : "";
      button.setAttribute("aria-label", `Add ${tileWords(token)}${have ? `, ${have} on the rack` : ""}`);
      button.setAttribute("aria-disabled", String(have >= copies(token)));
    }
  };
  show([]);
  return { element: h("div", { class: "picker" }, rows), show };
}
