/** A rack that is typed or tapped: one text, shown as tiles. */

import { h, put } from "../shared/dom.js";
import { field } from "../shared/field.js";
import { counted } from "../shared/words.js";
import { face } from "./face.js";
import { copies, inOrder, tally, tileWords } from "./kinds.js";
import { picker } from "./picker.js";
import { readTiles } from "./reading.js";

const FULL = 14;

/**
 * Return the input. The text is the truth: what cannot be read stays in it, and goes to the service as it is.
 * @param {() => void} changed
 */
export function rackInput(changed) {
  const control = h("input", {
    type: "text",
    class: "mono",
    autocomplete: "off",
    autocapitalize: "off",
    spellcheck: "false",
    name: "rack",
    on: { input: () => refresh() },
  });
  const labelled = field(
    "Rack",
    control,
    "Type 455c 18d N F J white, or tap the tiles below. Tap a tile on the rack to take it off.",
  );
  const tray = h("div", { class: "tray", role: "group", "aria-label": "Tiles on the rack" });
  const tally_ = h("p", { class: "hint tally", role: "status", "aria-live": "polite" });
  const kinds = picker(add);

  function refresh() {
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
    changed();
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

  refresh();
  return {
    element: h("div", { class: "rack-input" }, labelled.element, tray, tally_, kinds.element),
    control,
    fault: labelled.fault,
    get value() {
      return control.value.trim();
    },
    set value(text) {
      control.value = text;
      refresh();
    },
  };
}
