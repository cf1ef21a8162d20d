/** What is to be practised. */

import { cardChooser } from "../cards/chooser.js";
import { h } from "../shared/dom.js";
import { choice, field, tick } from "../shared/field.js";
import { keep, kept } from "../shared/storage.js";
import { MOST_ROUNDS, roundsOf } from "./rules.js";

const KEY = "practise";
const SEEDS = 1_000_000;

/**
 * Return the form.
 * @param {(wanted: Object) => void} deal Told what is wanted: `card`, `seed`, `start`, `rounds`, `difficulty`.
 */
export function setupForm(deal) {
  const counts = Array.from({ length: MOST_ROUNDS }, (_, at) => at + 1);
  const names = { 3: "3 – the first Charleston", 6: "6 – both Charlestons" };
  const rounds = field(
    "Rounds",
    choice(counts.map((count) => [String(count), names[count] ?? String(count)])),
    "In the order they are played; the first left and second right may be blind.",
  );
  const courtesy = tick("A courtesy pass at the end");
  const difficulty = field(
    "First pass",
    choice([
      ["any", "any"],
      ["clear", "clear: one pass stands out"],
      ["close", "close: several are nearly as good"],
    ]),
  );
  const seed = field(
    "Seed",
    h("input", { type: "number", min: 0, max: Number.MAX_SAFE_INTEGER, step: 1, placeholder: "any" }),
    "The same seed and start deal the same tiles again.",
  );
  const start = field(
    "Start at deal",
    h("input", { type: "number", min: 0, max: Number.MAX_SAFE_INTEGER, step: 1, placeholder: "0" }),
  );
  const card = cardChooser();
  rounds.control.value = "3";
  const before = kept(KEY);
  if (before) {
    rounds.control.value = before.rounds ?? "3";
    courtesy.box.checked = before.courtesy ?? false;
    difficulty.control.value = before.difficulty ?? "any";
  }
  const element = h(
    "form",
    {
      class: "setup panel",
      "aria-label": "What to practise",
      on: { submit: (event) => (event.preventDefault(), submit()) },
    },
    h("h2", {}, "A new lap"),
    h(
      "p",
      { class: "hint" },
      "Fourteen tiles are dealt, and a heap without jokers stands in for the other players. Only the time from seeing the rack to the last pass counts; then every pass is graded.",
    ),
    h("div", { class: "pair" }, rounds.element, difficulty.element),
    courtesy.element,
    card.element,
    h(
      "details",
      { class: "part" },
      h("summary", {}, "The same deal again"),
      h("div", { class: "inside pair" }, seed.element, start.element),
    ),
    h("p", { class: "buttons main-action" }, h("button", { type: "submit", class: "primary" }, "Deal")),
  );

  function submit() {
    keep(KEY, {
      rounds: rounds.control.value,
      courtesy: courtesy.box.checked,
      difficulty: difficulty.control.value,
    });
    const most = MOST_ROUNDS - (courtesy.box.checked ? 1 : 0);
    const faulty = Number(rounds.control.value) > most;
    rounds.fault(faulty ? [`With a courtesy pass there may be ${most} rounds before it.`] : []);
    if (faulty) return rounds.control.focus();
    deal({
      card: card.value,
      rounds: roundsOf(Number(rounds.control.value), courtesy.box.checked),
      difficulty: difficulty.control.value,
      seed: seed.control.value === "" ? Math.floor(Math.random() * SEEDS) : Number(seed.control.value),
      start: Number(start.control.value || 0),
    });
  }

  return { element, card };
}
