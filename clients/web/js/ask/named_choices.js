/** Families, traits and hands of a card: which count, and how much. */

import { h, newId, put } from "../shared/dom.js";
import { choice } from "../shared/field.js";

const COUNTS = [
  ["", "counts"],
  ["only", "only this kind"],
  ["without", "leave out"],
];
const TRAITS = [
  "one-suit", "two-suits", "three-suits", "pairs-only", "big-groups", "no-flowers",
  "winds-dragons-only", "no-joker-needed", "concealed", "narrow",
];

/** Return the rows. Their value is what `limits` takes: `only`, `without` and `weights`. */
export function namedChoices(changed) {
  const chosen = { families: new Map(), traits: new Map(), hands: new Map() };
  const weights = new Map();
  let hands = [];
  const listId = newId("hands");
  const list = h("datalist", { id: listId });
  const adding = h("input", {
    type: "text",
    list: listId,
    id: `${listId}-add`,
    on: { change: () => addHand(adding.value) },
  });
  const families = h("div", { class: "choices" });
  const traits = h("div", { class: "choices" });
  const handRows = h("div", { class: "choices" });

  function row(kind, name, options = COUNTS) {
    const select = choice(options, {
      "aria-label": `${name}: how it counts`,
      on: { change: () => (mark(kind, name, select.value), changed()) },
    });
    select.value = chosen[kind].get(name) ?? "";
    return h("div", { class: "choice-row" }, h("span", {}, name), select);
  }

  function mark(kind, name, value) {
    if (value) chosen[kind].set(name, value);
    else chosen[kind].delete(name);
  }

  function handRow(name) {
    const weight = h("input", {
      type: "number",
      min: 0,
      step: "any",
      placeholder: "1",
      "aria-label": `${name}: weight`,
      value: weights.get(name) ?? null,
      on: {
        input: () => (
          weight.value === "" ? weights.delete(name) : weights.set(name, Number(weight.value)),
          changed()
        ),
      },
    });
    const away = () => (weights.delete(name), mark("hands", name, ""), shown.delete(name), draw(), changed());
    return h(
      "div",
      { class: "hand-choice" },
      row("hands", name),
      h("label", { class: "weight" }, "weight ", weight),
      h(
        "button",
        { type: "button", class: "small", "aria-label": `Take ${name} off the list`, on: { click: away } },
        "×",
      ),
    );
  }

  const shown = new Set();

  function addHand(name) {
    if (!name.trim()) return;
    shown.add(name.trim());
    adding.value = "";
    draw();
    handRows.lastElementChild?.querySelector("select").focus();
  }

  function draw(familyNames = null) {
    if (familyNames)
      put(
        families,
        [...new Set([...familyNames, ...chosen.families.keys()])].map((name) => row("families", name)),
      );
    put(
      traits,
      TRAITS.map((name) => row("traits", name)),
    );
    put(handRows, [...shown].map(handRow));
    put(
      list,
      hands.map((name) => h("option", { value: name })),
    );
  }

  const named = (how) =>
    Object.fromEntries(
      Object.entries(chosen)
        .map(([kind, marks]) => [kind, [...marks].filter(([, value]) => value === how).map(([name]) => name)])
        .filter(([, names]) => names.length),
    );

  draw([]);
  return {
    element: h(
      "div",
      { class: "named" },
      h("h2", { class: "sub" }, "Families"),
      families,
      h("h2", { class: "sub" }, "Number ideas"),
      traits,
      h("h2", { class: "sub" }, "Hands"),
      handRows,
      h("div", { class: "field" }, h("label", { for: adding.id }, "Add a hand by its name"), adding, list),
    ),
    /** Offer the names of a card; null when it is not known. */
    offer(card) {
      hands = card ? card.hands.map((hand) => hand.name) : [];
      draw(card ? card.families : []);
    },
    get value() {
      return { only: named("only"), without: named("without"), weights: Object.fromEntries(weights) };
    },
    set value(limits) {
      for (const marks of [...Object.values(chosen), weights, shown]) marks.clear();
      for (const how of ["only", "without"]) {
        for (const [kind, names] of Object.entries(limits[how] ?? {}))
          for (const name of names) chosen[kind]?.set(name, how);
      }
      for (const [name, weight] of Object.entries(limits.weights ?? {})) weights.set(name, weight);
      for (const name of [...chosen.hands.keys(), ...weights.keys()]) shown.add(name);
      draw([...families.querySelectorAll(".choice-row > span")].map((each) => each.textContent));
    },
  };
}
