/** One labelled control with its hint and a place for its faults. */

import { h, newId, put } from "./dom.js";

/**
 * Label a control and give it a place for faults.
 * @param {string} label
 * @param {HTMLElement} control Input, select or textarea.
 * @param {string|null} hint
 * @returns {{element: HTMLElement, control: HTMLElement, fault: (says: string[]) => void}}
 */
export function field(label, control, hint = null) {
  const id = newId("field");
  control.id = id;
  const faults = h("ul", { class: "faults", id: `${id}-faults`, hidden: true });
  const described = hint ? `${id}-hint` : "";
  const describe = (ids) =>
    ids ? control.setAttribute("aria-describedby", ids) : control.removeAttribute("aria-describedby");
  describe(described);
  return {
    control,
    element: h(
      "div",
      { class: "field" },
      h("label", { for: id }, label),
      control,
      hint && h("p", { class: "hint", id: `${id}-hint` }, hint),
      faults,
    ),
    fault(says) {
      put(
        faults,
        says.map((line) => h("li", {}, line)),
      );
      faults.hidden = says.length === 0;
      if (says.length) control.setAttribute("aria-invalid", "true");
      else control.removeAttribute("aria-invalid");
      describe(`${described} ${says.length ? faults.id : ""}`.trim());
    },
  };
}

/** A checkbox and its label. */
export function tick(label, data = {}) {
  const box = h("input", { type: "checkbox", data });
  return { box, element: h("label", { class: "tick" }, box, h("span", {}, label)) };
}

/** A select of [value, label] pairs. */
export function choice(options, attributes = {}) {
  return h(
    "select",
    attributes,
    options.map(([value, label]) => h("option", { value }, label)),
  );
}
