/** A card file of one's own: opened or dropped, checked by the service, corrected in place. */

import { h, put } from "../shared/dom.js";
import { field } from "../shared/field.js";
import { noticeArea } from "../shared/notice.js";
import { counted } from "../shared/words.js";
import { checked } from "./catalogue.js";
import { faultList } from "./faults.js";

const MOST = 1_000_000;
const LINE_HEIGHT_EM = 1.5;

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
    if (found.ok) {
      const remarks = found.remarks.map((remark) =>
        h("li", {}, `${found.card.hands[remark.hand].name}: ${remark.detail}`),
      );
      put(
        result,
        h(
          "p",
          { class: "good" },
          h("strong", {}, found.card.title),
          `: no faults; ${counted(found.card.hands.length, "hand")}, ${counted(found.card.targets, "target")}.`,
        ),
        remarks.length > 0 && h("ul", {}, remarks),
      );
    } else
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
