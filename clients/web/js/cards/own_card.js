/** A card file of one's own: opened or dropped, checked by the service, corrected in place. */

import { h, put } from "../shared/page.js";
import { field, list, noticeArea } from "../shared/parts.js";
import { post } from "../shared/service.js";
import { counted } from "../shared/words.js";

const MOST = 1_000_000;
const LINE_HEIGHT_EM = 1.5;

/** Have a card checked: `ok`, `faults`, `remarks`, `card`. */
export const checked = (card) => post("v1/cards/check", { card });

/**
 * Return the part of a form that holds a card file.
 * @param {(card: {toml: string, file: string}|null) => void} settled Told of a card without faults, or null.
 */
export function ownCard(settled) {
  let file = "card.toml";
  let checks = 0;
  const notice = noticeArea();
  const result = h("div", { class: "check-result", role: "status", "aria-live": "polite" });
  const text = field(
    "Text of the card",
    h("textarea", {
      class: "mono",
      rows: 12,
      spellcheck: "false",
      wrap: "off",
      on: { input: () => unsettle() },
    }),
    "TOML, as in the README: [card], then one [[hand]] for each hand.",
  );
  const opened = field(
    "Card file",
    h("input", {
      type: "file",
      accept: ".toml,text/plain",
      on: { change: () => open(opened.control.files[0]) },
    }),
    "Or drop a .toml file anywhere here.",
  );
  const again = h("button", { type: "button", on: { click: () => check() } }, "Check this card");
  const element = h(
    "div",
    { class: "own-card", on: { dragover: drag, dragleave: drag, drop } },
    opened.element,
    text.element,
    h("p", {}, again),
    notice.element,
    result,
  );

  function unsettle() {
    checks += 1;
    settled(null);
    put(result, h("p", { class: "hint" }, "Changed: check it again."));
  }

  async function open(chosen) {
    if (!chosen) return;
    if (chosen.size > MOST) {
      notice.show(
        new Error(`${chosen.name} is larger than a card may be (${MOST.toLocaleString("en")} bytes).`),
      );
      return;
    }
    try {
      text.control.value = new TextDecoder("utf-8", { fatal: true }).decode(await chosen.arrayBuffer());
    } catch {
      notice.show(new Error(`${chosen.name} cannot be read, or is not text in UTF-8.`));
      return;
    }
    file = chosen.name.slice(0, 255);
    await check();
  }

  async function check() {
    const card = { toml: text.control.value, file };
    const mine = (checks += 1);
    notice.say("Checking the card…");
    try {
      const found = await checked(card);
      if (mine !== checks) return;
      notice.clear();
      tell(found, card);
    } catch (error) {
      if (mine === checks) notice.show(error, check);
    }
  }

  function tell(found, card) {
    settled(found.ok ? card : null);
    text.fault(found.ok ? [] : [`${counted(found.faults.length, "fault")}: see below`]);
    if (found.ok)
      put(
        result,
        h(
          "p",
          { class: "good" },
          h("strong", {}, found.card.title),
          `: no faults; ${found.card.words.size}.`,
        ),
        found.remarks.length > 0 &&
          list(found.remarks.map((remark) => `${found.card.hands[remark.hand].name}: ${remark.detail}`)),
      );
    else
      put(
        result,
        h("p", { class: "bad" }, `${file} has ${counted(found.faults.length, "fault")}:`),
        faultList(found.faults, card.toml, go),
      );
  }

  function go(line) {
    const lines = text.control.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
    text.control.focus();
    text.control.setSelectionRange(start, start + lines[line - 1].length);
    const high = LINE_HEIGHT_EM * parseFloat(getComputedStyle(text.control).fontSize);
    text.control.scrollTop = Math.max(0, (line - 3) * high);
  }

  function drag(event) {
    event.preventDefault();
    element.classList.toggle("over", event.type === "dragover");
  }

  function drop(event) {
    drag(event);
    open(event.dataTransfer.files[0]);
  }

  return {
    element,
    /** Put a card in, as from a link, and check it. */
    fill(card) {
      ({ file } = card);
      text.control.value = card.toml;
      return check();
    },
    /** The text as it stands, checked or not. */
    get card() {
      return { toml: text.control.value, file };
    },
  };
}

/**
 * List the faults of a card file, each with its line as it stands there.
 * @param {{detail: string}[]} faults
 * @param {string} text The file.
 * @param {(line: number) => void} go Takes the reader to a line, counted from 1.
 */
function faultList(faults, text, go) {
  const lines = text.split("\n");
  return h(
    "ol",
    { class: "card-faults" },
    faults.map((fault) => {
      const line = lineOf(fault.detail);
      const says = h("p", {}, fault.detail);
      if (line === null || line > lines.length) return h("li", {}, says);
      return h(
        "li",
        {},
        h(
          "p",
          { class: "excerpt" },
          h("span", { class: "number" }, `line ${line}`),
          h("code", {}, lines[line - 1].trim() || "(empty)"),
        ),
        says,
        h("button", { type: "button", class: "small", on: { click: () => go(line) } }, `Go to line ${line}`),
      );
    }),
  );
}

/** The line that a fault names, or null. */
function lineOf(detail) {
  const found = detail.match(/\bline (\d+)/);
  return found ? Number(found[1]) : null;
}
