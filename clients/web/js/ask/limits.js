/** Limits on the pass as the service describes them, the hands that count, and what to suppose about tiles to come. */

import { h, newId, put } from "../shared/page.js";
import { choice, numberField, part, tick, tilesField } from "../shared/parts.js";
import { get } from "../shared/service.js";

const COUNTS = [
  ["", "counts"],
  ["only", "only this kind"],
  ["without", "leave out"],
];
const ARRIVALS = {
  charleston: "From exchanges",
  draws: "From the wall",
  claims: "Discards you may call",
};

/**
 * Return the limits' part of the form. Its value is a part of a request; what is left as it is is left out.
 *
 * The controls are made once the service has said which limits there are. Until then, and if it does not answer,
 * a question keeps the limits with which it came.
 */
export function limitsForm(changed) {
  const named = namedChoices(changed);
  const seen = tilesField("Seen elsewhere", "Tiles you passed, or saw shown or discarded.");
  const coming = Object.entries(ARRIVALS).map(([name, label]) => [name, numberField(label)]);
  const drill = numberField("One-person drill: exchanges left, this one included", { min: 1, max: 12 });
  const controls = new Map();
  const onPass = h(
    "div",
    {},
    h("p", { class: "hint" }, "The server has not said yet which limits there are."),
  );
  // Limits that no control holds yet.
  let waiting = {};
  const parts = {
    limits: part("Limits on the pass", "", onPass),
    named: part("Hands that count", "", named.element),
    coming: part(
      "Tiles to come",
      "",
      seen.element,
      h("p", { class: "hint" }, "All three or none; empty means the defaults of the round."),
      h(
        "div",
        { class: "triple" },
        coming.map(([, each]) => each.element),
      ),
      drill.element,
    ),
  };
  const element = h("div", { class: "limits", on: { input: () => changed() } }, Object.values(parts));
  load();

  async function load() {
    if (controls.size) return;
    try {
      const { limits, traits } = await get("v1/limits");
      // Asked twice, perhaps: what has been set since the first answer stays.
      if (controls.size) return;
      for (const limit of limits) controls.set(limit.name, CONTROLS[limit.sort](limit));
      put(
        onPass,
        [...controls.values()].map((control) => control.element),
      );
      named.offerTraits(traits);
      fill(waiting);
    } catch {
      // Asked for again with the next question.
    }
  }

  function fill(limits) {
    waiting = {};
    for (const [name, control] of controls) control.value = limits[name];
    for (const [name, value] of Object.entries(limits)) if (!controls.has(name)) waiting[name] = value;
  }

  function limits() {
    const set = [...Object.entries(named.value), ...Object.entries(waiting)];
    for (const [name, control] of controls) set.push([name, control.value]);
    return Object.fromEntries(
      set.filter(([, value]) => value !== null && !(typeof value === "object" && !Object.keys(value).length)),
    );
  }

  return {
    element,
    reload: load,
    offer: named.offer,
    /** The fields that can tell a fault, by the place it names. */
    get fields() {
      const found = { seen, drill, arrivals: coming[0][1] };
      for (const [name, { first }] of controls) if (first) found[`limits/${name}`] = first;
      return found;
    },
    /** Open the part that a fault lies in. */
    reveal(pointer) {
      const counts = /^limits\/(only|without|weights)/.test(pointer);
      parts[counts ? "named" : pointer.startsWith("limits") ? "limits" : "coming"].open = true;
    },
    get value() {
      const set = Object.entries(limits());
      const arrivals = coming.filter(([, each]) => each.control.value !== "");
      const value = {};
      if (set.length) value.limits = Object.fromEntries(set);
      if (seen.control.value.trim()) value.seen = seen.control.value.trim();
      if (arrivals.length)
        value.arrivals = Object.fromEntries(
          arrivals.map(([name, each]) => [name, Number(each.control.value)]),
        );
      if (drill.control.value !== "") value.drill = { exchanges_left: Number(drill.control.value) };
      return value;
    },
    set value({ limits: limit = {}, seen: elsewhere = "", arrivals = {}, drill: left = null }) {
      const { only, without, weights, ...pass } = limit;
      named.value = { only, without, weights };
      fill(pass);
      seen.control.value = asText(elsewhere);
      for (const [name, each] of coming) each.control.value = arrivals?.[name] ?? "";
      drill.control.value = left?.exchanges_left ?? "";
      if (Object.keys(pass).length) parts.limits.open = true;
      if (only || without || weights) parts.named.open = true;
      if (elsewhere || left || Object.keys(arrivals ?? {}).length) parts.coming.open = true;
    },
  };
}

const asText = (tiles) => (Array.isArray(tiles) ? tiles.join(" ") : (tiles ?? ""));

/** A control for each sort of limit: its element, its value (null when not set), and the field that tells faults. */
const CONTROLS = {
  "yes-no": ({ sentence }) => {
    const { box, element } = tick(sentence);
    return {
      element,
      get value() {
        return box.checked || null;
      },
      set value(set) {
        box.checked = Boolean(set);
      },
    };
  },
  tiles: ({ sentence }) => {
    const first = tilesField(sentence, "Such as F F; twice the same means two of it.");
    return {
      element: first.element,
      first,
      get value() {
        return first.control.value.trim() || null;
      },
      set value(tiles) {
        first.control.value = asText(tiles);
      },
    };
  },
  "at-least": ({ sentence }) => {
    const first = numberField(sentence);
    const reach = numberField("each with a chance of at least, %", { max: 100, step: "any" });
    return {
      element: h("div", { class: "pair" }, first.element, reach.element),
      first,
      get value() {
        if (first.control.value === "") return null;
        return { count: Number(first.control.value), reach: Number(reach.control.value || 1) / 100 };
      },
      set value(kept) {
        first.control.value = kept?.count ?? "";
        reach.control.value = kept ? +(100 * kept.reach).toPrecision(12) : "";
      },
    };
  },
};

/** Families, traits and hands of a card: which count, and how much. Their value has `only`, `without`, `weights`. */
function namedChoices(changed) {
  const chosen = { families: new Map(), traits: new Map(), hands: new Map() };
  const offered = { families: [], traits: [] };
  const weights = new Map();
  const shown = new Set();
  let hands = [];
  const listId = newId("hands");
  const names = h("datalist", { id: listId });
  const adding = h("input", {
    type: "text",
    list: listId,
    id: `${listId}-add`,
    on: {
      change: () => add(adding.value),
      keydown: (event) => {
        if (event.key !== "Enter") return;
        event.preventDefault();
        add(adding.value);
      },
    },
  });
  const unknown = h("p", { class: "bad", role: "alert" });
  const rows = {
    families: h("div", { class: "choices" }),
    traits: h("div", { class: "choices" }),
    hands: h("div", { class: "choices" }),
  };

  function row(kind, name, sentence = null) {
    const select = choice(COUNTS, {
      "aria-label": `${name}: how it counts`,
      on: { change: () => (mark(kind, name, select.value), changed()) },
    });
    select.value = chosen[kind].get(name) ?? "";
    const says = sentence && h("span", { class: "hint" }, sentence);
    return h("div", { class: "choice-row" }, h("span", {}, name, says), select);
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

  function add(written) {
    unknown.textContent = "";
    const wanted = written.trim();
    if (!wanted) return;
    const name = hands.find((each) => each.toLowerCase() === wanted.toLowerCase());
    // Where the card is not known the service says whether it has such a hand.
    if (hands.length && !name) {
      const near = hands.filter((each) => each.toLowerCase().includes(wanted.toLowerCase())).slice(0, 3);
      unknown.textContent = `The card has no hand ${wanted}${near.length ? `: is it ${near.join(", or ")}?` : "."}`;
      return;
    }
    shown.add(name ?? wanted);
    adding.value = "";
    draw();
    rows.hands.lastElementChild?.querySelector("select").focus();
  }

  function draw() {
    for (const kind of ["families", "traits"]) {
      const says = new Map(offered[kind].map(({ name, sentence }) => [name, sentence]));
      for (const name of chosen[kind].keys()) if (!says.has(name)) says.set(name, null);
      put(
        rows[kind],
        [...says].map(([name, sentence]) => row(kind, name, sentence)),
      );
    }
    put(rows.hands, [...shown].map(handRow));
  }

  const marked = (how) =>
    Object.fromEntries(
      Object.entries(chosen)
        .map(([kind, marks]) => [kind, [...marks].filter(([, value]) => value === how).map(([name]) => name)])
        .filter(([, found]) => found.length),
    );

  return {
    element: h(
      "div",
      { class: "named" },
      h("h2", { class: "sub" }, "Families"),
      h("p", { class: "hint" }, "A family is a group of hands that the card files together."),
      rows.families,
      h("h2", { class: "sub" }, "Kinds of hand"),
      rows.traits,
      h("h2", { class: "sub" }, "Hands"),
      rows.hands,
      h(
        "div",
        { class: "field" },
        h("label", { for: adding.id }, "Add a hand by its name"),
        adding,
        names,
        unknown,
      ),
    ),
    /** Offer the names of a card; null when it is not known. */
    offer(card) {
      hands = card ? card.hands.map((hand) => hand.name) : [];
      put(
        names,
        hands.map((name) => h("option", { value: name })),
      );
      offered.families = (card?.families ?? []).map((name) => ({ name, sentence: null }));
      draw();
    },
    offerTraits(traits) {
      offered.traits = traits;
      draw();
    },
    get value() {
      return { only: marked("only"), without: marked("without"), weights: Object.fromEntries(weights) };
    },
    set value(limits) {
      for (const marks of [...Object.values(chosen), weights, shown]) marks.clear();
      for (const how of ["only", "without"]) {
        for (const [kind, found] of Object.entries(limits[how] ?? {}))
          for (const name of found) chosen[kind]?.set(name, how);
      }
      for (const [name, weight] of Object.entries(limits.weights ?? {})) weights.set(name, weight);
      for (const name of [...chosen.hands.keys(), ...weights.keys()]) shown.add(name);
      draw();
    },
  };
}
