/** The link to a question. */

import { h } from "../shared/dom.js";

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
