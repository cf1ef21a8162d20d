/** What every view is put together from: labelled controls, tables, facts, keys, messages. */

import { h, newId, put } from "./page.js";

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

/** A field for a whole number, or for any with `step: "any"`. */
export const numberField = (label, { hint = null, ...more } = {}) =>
  field(label, h("input", { type: "number", min: 0, step: 1, ...more }), hint);

/** A field for tiles as they are typed. */
export const tilesField = (label, hint = null, more = {}) =>
  field(
    label,
    h("input", {
      type: "text",
      class: "mono",
      autocapitalize: "off",
      autocomplete: "off",
      spellcheck: "false",
      ...more,
    }),
    hint,
  );

/** A checkbox and its label; it has no place for faults of its own. */
export function tick(label) {
  const box = h("input", { type: "checkbox" });
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

/** A part of an answer. */
export const section = (title, ...content) => h("section", {}, h("h3", {}, title), ...content);

/** A part of a view that opens. */
export const part = (title, more, ...content) =>
  h(
    "details",
    { class: `part ${more}`.trim() },
    h("summary", {}, title),
    h("div", { class: "inside" }, ...content),
  );

/** A list of lines. */
export const list = (lines) =>
  h(
    "ul",
    {},
    lines.map((line) => h("li", {}, line)),
  );

/** Facts by name: [name, value, key]; those without a value are left out. */
export const facts = (rows, more = "") =>
  h(
    "dl",
    { class: `facts ${more}`.trim() },
    rows
      .filter(([, value]) => value !== null && value !== undefined)
      .map(([name, value, key]) =>
        h("div", {}, h("dt", {}, name), h("dd", { data: key ? { fact: key } : {} }, value)),
      ),
  );

/**
 * Return a table that scrolls by itself where the page is narrow.
 * @param {string} caption
 * @param {string[]} head
 * @param {Array[]} rows The first cell of each names it.
 * @param {number[]} right Columns of numbers.
 */
export function table(caption, head, rows, right = []) {
  const side = (at) => (right.includes(at) ? "right" : null);
  // No line ends between a number and its percent sign.
  const whole = (cell) => (typeof cell === "string" ? cell.replaceAll(" %", "\u00a0%") : cell);
  return h(
    "div",
    { class: "scroll", tabindex: "0", role: "region", "aria-label": caption },
    h(
      "table",
      {},
      h("caption", { class: "sr" }, caption),
      h(
        "thead",
        {},
        h(
          "tr",
          {},
          head.map((cell, at) => h("th", { scope: "col", class: side(at) }, cell)),
        ),
      ),
      h(
        "tbody",
        {},
        rows.map((row) =>
          h(
            "tr",
            {},
            row.map((cell, at) =>
              h(at ? "td" : "th", { scope: at ? null : "row", class: side(at) }, whole(cell)),
            ),
          ),
        ),
      ),
    ),
  );
}

/** A key by its name. */
export const key = (name) => h("kbd", {}, name);

/** List what keys do; each line holds text and keys. */
export const keysPanel = (...lines) => part("Keys", "keys", list(lines));

const ADVICE = {
  gone: "Nothing you entered is lost. Start the server again (threepass serve), then try again.",
  busy: "Nothing you entered is lost. Too many questions are being answered; try again in a moment.",
  failed: "Nothing you entered is lost.",
  foreign: "Nothing you entered is lost. Another program may be answering at this address.",
};

/**
 * A place for messages, announced to screen readers.
 * `show(error, again)` tells of an error, `say(text)` of something less, `clear()` empties it.
 */
export function noticeArea() {
  const element = h("div", { role: "status", "aria-live": "polite", class: "notices" });
  return {
    element,
    clear: () => put(element),
    say: (text) => put(element, h("p", { class: "notice quiet" }, text)),
    show(error, again = null, faults = error.faults ?? []) {
      put(
        element,
        h(
          "div",
          { class: "notice bad", data: { kind: error.kind ?? "page" } },
          h("p", {}, h("strong", {}, error.message)),
          faults.length > 0 && list(faults.map((fault) => fault.detail ?? fault)),
          ADVICE[error.kind] && h("p", {}, ADVICE[error.kind]),
          again && h("button", { type: "button", on: { click: again } }, "Try again"),
        ),
      );
    },
  };
}
