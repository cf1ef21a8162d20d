/** Asking: the question's form and its answer. */

import { cardChooser } from "../cards/chooser.js";
import { chosenId, inFull, reload } from "../cards/shelf.js";
import { h, keep, kept, later, put } from "../shared/page.js";
import { key, keysPanel, noticeArea } from "../shared/parts.js";
import { roundChoice, rulesPanel } from "../shared/rounds.js";
import { foreign, post } from "../shared/service.js";
import { rackInput } from "../tiles/rack_input.js";
import { answerView } from "./answer.js";
import { limitsForm } from "./limits.js";
import { fragmentOf, isDear, questionIn, sharing } from "./sharing.js";

const DRAFT = "ask";
const SAVE_MS = 300;
const HANDS = 8;
// Pixels of the answer that must be seen without scrolling: the pass itself.
const WORTH_SEEING = 320;
const EXAMPLE = "2b 4b 4c 5c 5c 5d 6c 8d 1d E W F F J";

/** Return the view: its element, `title`, and `open(fragment)` for when its address is gone to. */
export function askView() {
  let asking = null;
  let asked = null;
  const keepDraft = () => keep(DRAFT, question(), "sessionStorage");
  const save = later(SAVE_MS, keepDraft);
  const notice = noticeArea();
  const rack = rackInput(save);
  const round = roundChoice(save);
  const limits = limitsForm(save);
  const card = cardChooser(() => (offer(), save()));
  const share = sharing();
  const result = h("div", { class: "result", id: "result" }, placeholder());
  const submit = h("button", { type: "submit", class: "primary" }, "Ask what to pass");
  const clear = h(
    "button",
    {
      type: "button",
      on: { click: () => (fill({ rack: "", round: "first_right" }), rack.control.focus()) },
    },
    "Clear",
  );
  const example = h(
    "button",
    { type: "button", on: { click: () => (rack.value = EXAMPLE) } },
    "An example rack",
  );
  const form = h(
    "form",
    {
      class: "question panel",
      novalidate: true,
      "aria-label": "Question",
      on: { submit: (event) => (event.preventDefault(), ask()) },
    },
    rack.element,
    h("p", { class: "buttons" }, example, clear),
    round.element,
    card.element,
    limits.element,
    h("p", { class: "buttons main-action" }, submit),
    rulesPanel(),
    keys(),
    notice.element,
  );
  const element = h(
    "section",
    { class: "view ask", "aria-labelledby": "ask-title" },
    h("h1", { id: "ask-title" }, "What should I pass?"),
    h("div", { class: "columns" }, form, h("div", { class: "outcome" }, share.element, result)),
  );
  element.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) ask();
  });

  const question = () => ({ rack: rack.value, ...round.value, card: card.value, ...limits.value });

  function fill(from) {
    rack.value = Array.isArray(from.rack) ? from.rack.join(" ") : from.rack;
    round.value = from;
    limits.value = from;
    if (from.card !== undefined) card.value = from.card;
  }

  async function offer() {
    try {
      limits.offer(await inFull(chosenId()));
    } catch {
      limits.offer(null);
    }
  }

  async function ask() {
    asking?.abort();
    const mine = (asking = new AbortController());
    clearFaults();
    const from = question();
    notice.say("Working it out…");
    submit.setAttribute("aria-busy", "true");
    try {
      const answer = await post(
        "v1/advice",
        { ...from, hands: HANDS, why: true },
        { signal: mine.signal, waiting: notice.say },
      );
      const shown = answerView(answer);
      const fragment = (asked = await fragmentOf(from));
      history.replaceState(null, "", fragment);
      put(result, shown);
      share.offer(new URL(fragment, location.href).href);
      notice.say(`Answered: pass ${shown.querySelector(".in-words").textContent}.`);
      reload();
      limits.reload();
      const { top, bottom } = result.getBoundingClientRect();
      if (top < 0 || Math.min(bottom, top + WORTH_SEEING) > innerHeight)
        share.element.scrollIntoView({ block: "start" });
    } catch (error) {
      if (error.kind === "stopped") return;
      refuse(error.kind ? error : foreign());
    } finally {
      if (asking === mine) submit.removeAttribute("aria-busy");
    }
  }

  const places = () => ({ rack, round, give: round, card, ...limits.fields });

  /** Tell what is wrong, each fault at its place; what has no place of its own stands with the message. */
  function refuse(error) {
    const at = Object.entries(places());
    const told = new Map();
    const rest = [];
    for (const fault of error.faults ?? []) {
      const pointer = decodeURIComponent(fault.pointer.slice(2));
      const [place, target] = at.find(([name]) => pointer === name || pointer.startsWith(`${name}/`)) ?? [];
      if (place in limits.fields || pointer.startsWith("limits")) limits.reveal(pointer);
      if (target) told.set(target, [...(told.get(target) ?? []), fault.detail]);
      else rest.push(fault);
    }
    for (const [target, says] of told) target.fault(says);
    notice.show(error, error.kind === "refused" ? null : ask, rest);
    [...told.keys()][0]?.control.focus();
  }

  function clearFaults() {
    for (const target of Object.values(places())) target.fault([]);
  }

  window.addEventListener("pagehide", keepDraft);
  const draft = kept(DRAFT, "sessionStorage");
  if (draft?.rack !== undefined) fill({ ...draft, card: undefined });

  return {
    element,
    title: "Ask",
    async open(fragment) {
      if (fragment === asked) return;
      let from;
      try {
        from = await questionIn(fragment);
        if (from) fill(from);
      } catch {
        notice.show(
          new Error("The question in this address cannot be read: the link may have been cut short."),
        );
        return;
      }
      if (!from) {
        // Coming back from the other view: the address tells the question again.
        if (asked) history.replaceState(null, "", asked);
        return;
      }
      if (isDear(from))
        notice.say("This link brings a long card of its own, which may take a while. Ask when you like.");
      else await ask();
    },
  };
}

const placeholder = () =>
  h(
    "p",
    { class: "empty" },
    "The answer will stand here: which tiles to pass, how close it is, which hands they keep and which they make less likely.",
  );

const keys = () =>
  keysPanel(
    [key("Enter"), " in the rack, or ", key("Ctrl"), " + ", key("Enter"), " anywhere: ask"],
    [key("Tab"), " and ", key("Space"), ": from tile to tile, put it on or take it off"],
    ["arrow keys: from round to round"],
  );
