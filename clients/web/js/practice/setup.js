/** What is to practice. */

import { cardChooser } from "../cards/chooser.js";
import { chosenId, inFull } from "../cards/shelf.js";
import { h, keep, kept, put } from "../shared/page.js";
import { choice, field, numberField, part, tick } from "../shared/parts.js";
import { COURTESY, EXCHANGES, roundWords, roundsOf } from "../shared/rounds.js";
import { capital, counted } from "../shared/words.js";

const KEY = "practice";

/** What a pass must have lost to be played again, as a share. */
export const moreThan = () => Math.min(100, Math.max(0, Number(kept(KEY)?.more ?? 3) || 0)) / 100;

const MOST_ROUNDS = 12;
const BOTH = 6;
const SEEDS = 1_000_000;
// Title and hint of each kind of practice.
const WORDS = {
  laps: [
    "A new lap",
    "A lap is one deal, passed to the end: fourteen tiles, and a heap without jokers that stands in for the other players. Only the time from seeing the rack to the last pass counts; then every pass is graded.",
  ],
  table: [
    "A new lap at a table",
    "Three careful players pass from racks of their own: both Charlestons, unless somebody stops the second, and the courtesy pass. Only the time from seeing the rack to the last pass counts; then every pass is graded.",
  ],
  single: [
    "Single passes",
    "One rack and one round at a time. You pass, see at once what was best, and get the next. The first tap shows the rack.",
  ],
  again: [
    "Passes to play again",
    "What cost you much comes back when it is due: the better you pass it, the later it comes again.",
  ],
};

/**
 * Return the form.
 * @param {(wanted: Object) => void} deal Told what is wanted: `kind` (`laps`, `table`, `single`, `again`), `card`, `seed`,
 *   `start`, `rounds` or `round`, `difficulty`, `family`, `timed`, `target`.
 * @param {() => void} relisted Told when other passes are to be played again.
 */
export function setupForm(deal, relisted) {
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
  const again = h("option", { value: "again" });
  const kind = field(
    "What to play",
    choice(
      [
        ["laps", "a whole Charleston, with a heap"],
        ["table", "a whole Charleston, at a table of careful players"],
        ["single", "single passes: one rack, one round, the verdict at once"],
      ],
      { on: { change: () => shape() } },
    ),
  );
  kind.control.append(again);
  const round = field(
    "Round",
    choice([
      ["", "each in turn"],
      ...[...EXCHANGES, COURTESY].map((name) => [name, capital(roundWords(name))]),
    ]),
  );
  const family = field("Family of the likeliest hand", choice([["", "any"]]));
  const more = numberField("Passes that lost more than (percent)", {
    max: 100,
    step: "any",
    value: "3",
    on: { change: () => (remember(), relisted()) },
  });
  const timed = tick("Against the clock");
  timed.box.checked = true;
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
  const card = cardChooser(offerFamilies);
  rounds.control.value = String(BOTH);
  const before = kept(KEY);
  if (before) {
    rounds.control.value = before.rounds ?? String(BOTH);
    courtesy.box.checked = before.courtesy ?? false;
    difficulty.control.value = before.difficulty ?? "any";
    target.control.value = before.target ?? "";
    kind.control.value = before.kind ?? "laps";
    round.control.value = before.round ?? "";
    timed.box.checked = before.timed ?? true;
    more.control.value = before.more ?? "3";
  }
  const title = h("h2", {});
  const hint = h("p", { class: "hint" });
  const same = part("The same deal again", "", h("div", { class: "pair" }, seed.element, start.element));
  const element = h(
    "form",
    {
      class: "setup panel",
      "aria-label": "What to practice",
      on: { submit: (event) => (event.preventDefault(), submit()) },
    },
    title,
    hint,
    kind.element,
    h(
      "div",
      { class: "pair" },
      rounds.element,
      round.element,
      difficulty.element,
      family.element,
      target.element,
      more.element,
    ),
    courtesy.element,
    timed.element,
    card.element,
    same,
    h("p", { class: "buttons main-action" }, h("button", { type: "submit", class: "primary" }, "Deal")),
  );

  /** Show what belongs to the kind of practice that is chosen. */
  function shape() {
    const chosen = kind.control.value;
    const [says, about] = WORDS[chosen];
    title.textContent = says;
    hint.textContent = about;
    for (const { element } of [rounds, courtesy]) element.hidden = chosen !== "laps";
    target.element.hidden = chosen !== "laps" && chosen !== "table";
    round.element.hidden = chosen !== "single";
    more.element.hidden = chosen !== "again";
    for (const each of [difficulty.element, family.element, card.element, same])
      each.hidden = chosen === "again";
  }

  async function offerFamilies() {
    const was = family.control.value;
    const id = chosenId();
    const families = (await inFull(id).catch(() => null))?.families ?? [];
    if (id !== chosenId()) return;
    put(
      family.control,
      ["", ...families].map((name) => h("option", { value: name }, name || "any")),
    );
    family.control.value = families.includes(was) ? was : "";
  }

  function due(count) {
    again.textContent = `again what I lost most on (${count} due)`;
  }

  due(0);
  shape();

  function remember() {
    keep(KEY, {
      more: more.control.value,
      kind: kind.control.value,
      round: round.control.value,
      timed: timed.box.checked,
      rounds: rounds.control.value,
      courtesy: courtesy.box.checked,
      difficulty: difficulty.control.value,
      target: target.control.value,
    });
  }

  function submit() {
    remember();
    const chosen = kind.control.value;
    const most = MOST_ROUNDS - (courtesy.box.checked ? 1 : 0);
    const faulty = chosen === "laps" && Number(rounds.control.value) > most;
    rounds.fault(faulty ? [`With a courtesy pass there may be ${most} rounds before it.`] : []);
    if (faulty) return rounds.control.focus();
    deal({
      kind: chosen,
      round: round.control.value,
      family: family.control.value,
      timed: timed.box.checked,
      card: card.value,
      rounds: roundsOf(Number(rounds.control.value), courtesy.box.checked),
      difficulty: difficulty.control.value,
      seed: seed.control.value === "" ? Math.floor(Math.random() * SEEDS) : Number(seed.control.value),
      start: Number(start.control.value || 0),
      target: (chosen === "laps" || chosen === "table") && timed.box.checked ? Number(target.control.value) || null : null,
    });
  }

  return {
    element,
    due,
    /** Deal what an address asks for: `seed`, and perhaps `start`, `rounds`, `courtesy`, `difficulty`, `card`. */
    dealOf(query) {
      const fields = { seed, start, rounds, difficulty };
      for (const [name, { control }] of Object.entries(fields))
        if (query.has(name)) control.value = query.get(name);
      kind.control.value = query.has("table") ? "table" : "laps";
      shape();
      if (query.has("courtesy")) courtesy.box.checked = query.get("courtesy") === "1";
      if (query.has("card")) card.value = query.get("card");
      submit();
    },
  };
}
