/** What is to practice. */

import { cardChooser } from "../cards/chooser.js";
import { h, keep, kept } from "../shared/page.js";
import { choice, field, numberField, part, tick } from "../shared/parts.js";
import { roundsOf } from "../shared/rounds.js";
import { counted } from "../shared/words.js";

const KEY = "practice";
const MOST_ROUNDS = 12;
const BOTH = 6;
const SEEDS = 1_000_000;

/**
 * Return the form.
 * @param {(wanted: Object) => void} deal Told what is wanted: `card`, `seed`, `start`, `rounds`, `difficulty`.
 */
export function setupForm(deal) {
  const counts = Array.from({ length: MOST_ROUNDS }, (_, at) => at + 1);
  const names = { 3: "3 – the first Charleston", [BOTH]: "6 – both Charlestons" };
  const nameOf = (count) =>
    count > BOTH
      ? `${count} – both and ${counted(count - BOTH, "extra exchange")}`
      : (names[count] ?? String(count));
  const rounds = field(
    "Rounds",
    choice(counts.map((count) => [String(count), nameOf(count)])),
    "In the order they are played; the last pass of each Charleston may be blind.",
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
  const target = field(
    "Target for the lap",
    choice([
      ["", "none"],
      ["120", "2 minutes (advanced)"],
      ["180", "3 minutes (intermediate)"],
      ["240", "4 minutes (beginner)"],
    ]),
    "A quiet countdown; nothing happens when it ends. The bands are of a whole Charleston.",
  );
  const whole = { max: Number.MAX_SAFE_INTEGER };
  const seed = numberField("Seed", {
    ...whole,
    placeholder: "any",
    hint: "The same number deals the same tiles again.",
  });
  const start = numberField("Start at deal", { ...whole, placeholder: "0" });
  const card = cardChooser();
  rounds.control.value = String(BOTH);
  const before = kept(KEY);
  if (before) {
    rounds.control.value = before.rounds ?? String(BOTH);
    courtesy.box.checked = before.courtesy ?? false;
    difficulty.control.value = before.difficulty ?? "any";
    target.control.value = before.target ?? "";
  }
  const element = h(
    "form",
    {
      class: "setup panel",
      "aria-label": "What to practice",
      on: { submit: (event) => (event.preventDefault(), submit()) },
    },
    h("h2", {}, "A new lap"),
    h(
      "p",
      { class: "hint" },
      "A lap is one deal, passed to the end: fourteen tiles, and a heap without jokers that stands in for the other players. Only the time from seeing the rack to the last pass counts; then every pass is graded.",
    ),
    h("div", { class: "pair" }, rounds.element, difficulty.element, target.element),
    courtesy.element,
    card.element,
    part("The same deal again", "", h("div", { class: "pair" }, seed.element, start.element)),
    h("p", { class: "buttons main-action" }, h("button", { type: "submit", class: "primary" }, "Deal")),
  );

  function submit() {
    keep(KEY, {
      rounds: rounds.control.value,
      courtesy: courtesy.box.checked,
      difficulty: difficulty.control.value,
      target: target.control.value,
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
      target: Number(target.control.value) || null,
    });
  }

  return {
    element,
    /** Deal what an address asks for: `seed`, and perhaps `start`, `rounds`, `courtesy`, `difficulty`, `card`. */
    dealOf(query) {
      const fields = { seed, start, rounds, difficulty };
      for (const [name, { control }] of Object.entries(fields))
        if (query.has(name)) control.value = query.get(name);
      if (query.has("courtesy")) courtesy.box.checked = query.get("courtesy") === "1";
      if (query.has("card")) card.value = query.get("card");
      submit();
    },
  };
}
