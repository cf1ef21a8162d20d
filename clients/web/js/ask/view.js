/** Asking: the question's form and its answer. */

import { cardChooser } from "../cards/chooser.js";
import { chosenId, inFull, reload } from "../cards/shelf.js";
import { h, keep, kept, later, put } from "../shared/page.js";
import { key, keysPanel, noticeArea, part } from "../shared/parts.js";
import { roundChoice, roundsLeft, rulesPanel } from "../shared/rounds.js";
import { foreign, post } from "../shared/service.js";
import { rackInput } from "../tiles/rack_input.js";
import { AHEAD } from "./ahead.js";
import { answerView } from "./answer.js";
import { limitsForm } from "./limits.js";
import { myPass } from "./my_pass.js";
import { fragmentOf, isDear, questionIn, sharing, waits } from "./sharing.js";

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
  // The question of the answer that is shown, as text, and whether another was refused since.
  let answered = null;
  const old = h("p", { class: "notice old-note", role: "status", hidden: true });
  const result = h("div", { class: "result", id: "result" }, placeholder());
  const keepDraft = () => keep(DRAFT, question(), "sessionStorage");
  const save = later(SAVE_MS, keepDraft);
  const changed = () => (save(), notice.clear(), markOld());
  const notice = noticeArea();
  const mine = myPass(() => changed());
  const rack = rackInput((text) => (mine.follow(text), changed()));
  const round = roundChoice(() => changed());
  const limits = limitsForm(() => changed());
  const card = cardChooser(() => (offer(), changed()));
  const share = sharing();
  const submit = h("button", { type: "submit", class: "primary" }, "Ask what to pass");
  const small = (label, click) => h("button", { type: "button", on: { click } }, label);
  const form = h(
    "form",
    {
      class: "question panel",
      novalidate: true,
      "aria-label": "Question",
      on: { submit: (event) => (event.preventDefault(), ask()) },
    },
    rack.element,
    round.element,
    h(
      "p",
      { class: "buttons main-action" },
      submit,
      small("Clear", () => (fill({ rack: "", round: "first_right" }), rack.control.focus())),
      small("An example", () => (rack.value = EXAMPLE)),
    ),
    notice.element,
    card.element,
    mine.element,
    part(
      "Other questions about this rack",
      "ahead",
      h(
        "div",
        { class: "buttons" },
        AHEAD.map((kind) => small(kind.label, () => askAhead(kind))),
        small("Blind or courtesy: how many to give?", () => compareNumbers()),
        small("What does the pass give away?", () => ask("pushState", { gives_away: true })),
      ),
      h("p", { class: "hint" }, "Stop or go on is asked with the rack as it is after the first left pass."),
    ),
    part("Limits and what you know", "", limits.element),
    rulesPanel(),
    keys(),
  );
  const element = h(
    "section",
    { class: "view ask", "aria-labelledby": "ask-title" },
    h("h1", { id: "ask-title" }, "What should I pass?"),
    h("div", { class: "columns" }, form, h("div", { class: "outcome" }, share.element, old, result)),
  );
  element.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) ask();
  });

  function question() {
    return { rack: rack.value, ...round.value, card: card.value, ...limits.value, ...mine.value };
  }

  function fill(from) {
    rack.value = Array.isArray(from.rack) ? from.rack.join(" ") : from.rack;
    round.value = from;
    limits.value = from;
    mine.value = from;
    if (from.card !== undefined) card.value = from.card;
  }

  async function offer() {
    try {
      limits.offer(await inFull(chosenId()));
    } catch {
      limits.offer(null);
    }
  }

  /** An answer to another question than the form's is never shown as if it were to this one. */
  function markOld(refused = false) {
    const stale = answered !== null && (refused || JSON.stringify(question()) !== answered);
    result.classList.toggle("old", stale);
    old.hidden = !stale;
    const says = refused ? "The new question was not answered" : "The question has changed";
    put(old, `${says}: what stands below is the answer to the old one.`);
  }

  /**
   * Ask something of the service, and show the answer.
   * @param {string} path
   * @param {(from: Object) => Object} request The request for the question in the form.
   * @param {(answer: Object) => HTMLElement} view
   * @returns {Promise<Object|null>} The question and what is shown; null when there is no answer.
   */
  async function answerTo(path, request, view) {
    asking?.abort();
    const own = (asking = new AbortController());
    clearFaults();
    const from = question();
    notice.say("Working it out…");
    submit.setAttribute("aria-busy", "true");
    try {
      const options = { signal: own.signal, waiting: notice.say };
      const shown = view(await post(path, request(from), options));
      put(result, shown);
      answered = JSON.stringify(from);
      notice.clear();
      markOld();
      reload();
      limits.reload();
      const { top, bottom } = result.getBoundingClientRect();
      if (top < 0 || Math.min(bottom, top + WORTH_SEEING) > innerHeight)
        share.element.scrollIntoView({ block: "start" });
      return { from, shown };
    } catch (error) {
      if (error.kind === "stopped") return null;
      refuse(error.kind ? error : foreign(), () => answerTo(path, request, view));
      markOld(true);
      return null;
    } finally {
      if (asking === own) submit.removeAttribute("aria-busy");
    }
  }

  /** Ask for advice; the question becomes the page's address, a step back in the browser's history. */
  async function ask(step = "pushState", more = {}) {
    const request = (from) => ({ ...from, hands: HANDS, why: true, ...more });
    const found = await answerTo("v1/advice", request, answerView);
    if (!found) return;
    asked = await fragmentOf(found.from);
    if (asked !== location.hash) history[step](null, "", asked);
    share.offer(new URL(asked, location.href).href);
    notice.say(`Answered: pass ${found.shown.querySelector(".in-words").textContent}.`);
  }

  function askAhead({ path, question: of, more, view }) {
    return answerTo(path, (from) => ({ ...of(from), ...more(roundsLeft(from.round)) }), view);
  }

  async function compareNumbers() {
    if (!round.leavesChoice) {
      notice.show(
        new Error("Only first left, second right and courtesy leave a choice: choose one of them first."),
      );
      return;
    }
    round.value = { round: round.value.round };
    await ask();
    const numbers = result.querySelector(".numbers");
    if (numbers) numbers.open = true;
  }

  const places = () => ({ rack, round, give: round, card, ...limits.fields });

  /** Tell what is wrong, each fault at its place; what has no place of its own stands with the message. */
  function refuse(error, again) {
    const at = Object.entries(places());
    const told = new Map();
    const rest = [];
    for (const fault of error.faults ?? []) {
      const pointer = decodeURIComponent(fault.pointer.slice(2));
      const [place, target] = at.find(([name]) => pointer === name || pointer.startsWith(`${name}/`)) ?? [];
      if (place in limits.fields || pointer.startsWith("limits")) {
        limits.element.closest("details").open = true;
        limits.reveal(pointer);
      }
      if (target) told.set(target, [...(told.get(target) ?? []), fault.detail]);
      else rest.push(fault);
    }
    for (const [target, says] of told) target.fault(says);
    notice.show(error, error.kind === "refused" ? null : again, rest);
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
        // Coming back from another view: the address tells the question again.
        if (asked) history.replaceState(null, "", asked);
        return;
      }
      if (waits(fragment)) {
        put(result, placeholder());
        [answered, asked] = [null, fragment];
        share.element.hidden = true;
        markOld();
        notice.say("What would you pass? Choose it under “And my own pass?”, then ask.");
        mine.element.open = true;
      } else if (isDear(from))
        notice.say("This link brings a long card of its own, which may take a while. Ask when you like.");
      else await ask("replaceState");
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
