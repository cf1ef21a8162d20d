/** A rack that is typed or tapped: one text, shown as tiles. */

import { h, put } from "../shared/page.js";
import { tilesField } from "../shared/parts.js";
import { counted } from "../shared/words.js";
import { ROWS, copies, inOrder, readTiles, tally, tileWords } from "./kinds.js";
import { face } from "./tile.js";

const FULL = 14;

/**
 * Return the input. The text is the truth: what cannot be read stays in it, and goes to the service as it is.
 * @param {(text: string) => void} changed
 * @param {string} label
 */
export function rackInput(changed, label = "Rack") {
  const {
    control,
    element: labelled,
    fault,
  } = tilesField(label, "Tap tiles to add them, or type. A tap takes one off.", {
    name: "rack",
    placeholder: "455c 18d N F J white",
    on: { input: () => refresh() },
  });
  const tray = h("div", { class: "tray", role: "group", "aria-label": "Tiles on the rack" });
  const tally_ = h("p", { class: "hint tally", role: "status", "aria-live": "polite" });
  const kinds = picker(add);

  function refresh(tell = true) {
    const { tokens, unknown } = readTiles(control.value);
    const rack = inOrder(tokens);
    put(
      tray,
      rack.map((token, at) =>
        h(
          "button",
          {
            type: "button",
            class: "held",
            "aria-label": `Take off ${tileWords(token)}`,
            on: { click: () => remove(rack, at, unknown) },
          },
          face(token),
        ),
      ),
      Array.from({ length: Math.max(0, FULL - rack.length) }, () =>
        h("span", { class: "slot", "aria-hidden": "true" }),
      ),
    );
    tally_.textContent = `${counted(rack.length, "tile")} of 13 or 14${unknown.length ? `; not tiles: ${unknown.join(", ")}` : ""}`;
    kinds.show(rack);
    if (tell) changed(control.value);
  }

  function add(token) {
    const { tokens } = readTiles(control.value);
    const full = (tally(tokens).get(token) ?? 0) >= copies(token);
    if (full || tokens.length >= FULL) {
      tally_.textContent = full
        ? `The set has no more of ${tileWords(token)}.`
        : "The rack is full: take a tile off first.";
      return;
    }
    control.value = [control.value.trim(), token].filter(Boolean).join(" ");
    refresh();
  }

  function remove(rack, at, unknown) {
    control.value = [...rack.filter((_, other) => other !== at), ...unknown].join(" ");
    refresh();
    // The button that had the focus is gone with its tile.
    const left = tray.querySelectorAll("button");
    (left[Math.min(at, left.length - 1)] ?? control).focus();
  }

  refresh(false);
  return {
    element: h("div", { class: "rack-input" }, labelled, tray, tally_, kinds.element),
    control,
    fault,
    get value() {
      return control.value.trim();
    },
    set value(text) {
      control.value = text;
      refresh();
    },
  };
}

/**
 * Offer all kinds.
 * @param {(token: string) => void} chosen
 * @returns {{element: HTMLElement, show: (held: string[]) => void}} `show` marks how many of each are held.
 */
function picker(chosen) {
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
