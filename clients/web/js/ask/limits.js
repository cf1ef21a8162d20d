/** Limits on the pass, and what to suppose about the tiles to come. */

import { h } from "../shared/dom.js";
import { field, tick } from "../shared/field.js";
import { namedChoices } from "./named_choices.js";

const SAMPLES = 24;

/** Return the limits' part of the form. Its value is a part of a request; defaults are left out. */
export function limitsForm(changed) {
  const text = (label, hint) =>
    field(
      label,
      h("input", {
        type: "text",
        class: "mono",
        autocapitalize: "off",
        autocomplete: "off",
        spellcheck: "false",
      }),
      hint,
    );
  const number = (label, more) => field(label, h("input", { type: "number", min: 0, step: 1, ...more }));
  const stay = text("Must stay", "Tiles, such as F F. Twice the same: two of it.");
  const go = text("Must go", "Tiles.");
  const seen = text("Seen elsewhere", "Tiles you passed, or saw shown or discarded.");
  const ticks = {
    no_pairs: tick("Never pass two alike"),
    no_flowers: tick("Never pass a flower"),
    no_neighbours: tick("Never pass two neighbours of one suit"),
  };
  const keep = {
    keep_hands: [number("Keep hands, at least"), number("each at a reach of, %", { max: 100, step: "any" })],
    keep_families: [
      number("Keep families, at least"),
      number("each at a reach of, %", { max: 100, step: "any" }),
    ],
  };
  const coming = {
    charleston: number("From exchanges"),
    draws: number("From the wall"),
    claims: number("Discards to claim from"),
  };
  const drill = number("Exchanges left, of a one-person drill", { min: 1, max: 12 });
  const ahead = tick(`Look ahead too: sample ${SAMPLES} futures (slower)`);
  const named = namedChoices(changed);
  const fields = {
    "limits/stay": stay,
    "limits/go": go,
    seen,
    drill,
    arrivals: coming.charleston,
    "limits/keep_hands": keep.keep_hands[0],
    "limits/keep_families": keep.keep_families[0],
  };
  const element = h(
    "div",
    { class: "limits", on: { input: () => changed() } },
    part(
      "Limits on the pass",
      h("div", { class: "pair" }, stay.element, go.element),
      Object.values(ticks).map((each) => each.element),
      Object.values(keep).map((both) =>
        h(
          "div",
          { class: "pair" },
          both.map((each) => each.element),
        ),
      ),
    ),
    part("Hands that count", named.element),
    part(
      "Tiles to come",
      seen.element,
      h("p", { class: "hint" }, "All three or none; empty means the defaults of the round."),
      h(
        "div",
        { class: "triple" },
        Object.values(coming).map((each) => each.element),
      ),
      drill.element,
      ahead.element,
    ),
  );

  function part(title, ...content) {
    return h(
      "details",
      { class: "part" },
      h("summary", {}, title, h("span", { class: "set" })),
      h("div", { class: "inside" }, content),
    );
  }

  function limits() {
    const { only, without, weights } = named.value;
    const found = {};
    if (stay.control.value.trim()) found.stay = stay.control.value.trim();
    if (go.control.value.trim()) found.go = go.control.value.trim();
    for (const [name, names] of Object.entries({ only, without, weights }))
      if (Object.keys(names).length) found[name] = names;
    for (const [name, { box }] of Object.entries(ticks)) if (box.checked) found[name] = true;
    for (const [name, [count, reach]] of Object.entries(keep)) {
      if (count.control.value !== "")
        found[name] = { count: Number(count.control.value), reach: Number(reach.control.value || 1) / 100 };
    }
    return found;
  }

  function value() {
    const found = {};
    const limit = limits();
    if (Object.keys(limit).length) found.limits = limit;
    if (seen.control.value.trim()) found.seen = seen.control.value.trim();
    if (Object.values(coming).some((each) => each.control.value !== "")) {
      found.arrivals = Object.fromEntries(
        Object.entries(coming)
          .filter(([, each]) => each.control.value !== "")
          .map(([name, each]) => [name, Number(each.control.value)]),
      );
    }
    if (drill.control.value !== "") found.drill = { exchanges_left: Number(drill.control.value) };
    if (ahead.box.checked) found.look_ahead = { samples: SAMPLES };
    return found;
  }

  return {
    element,
    fields,
    offer: named.offer,
    /** Open the part that a fault lies in. */
    reveal: (pointer) => {
      const at =
        pointer.startsWith("limits/only") ||
        pointer.startsWith("limits/without") ||
        pointer.startsWith("limits/weights")
          ? 1
          : pointer.startsWith("limits")
            ? 0
            : 2;
      element.children[at].open = true;
    },
    get value() {
      return value();
    },
    set value(asked) {
      const {
        limits: limit = {},
        seen: elsewhere = "",
        arrivals = {},
        drill: left = null,
        look_ahead: look = null,
      } = asked;
      const written = (tiles) => (Array.isArray(tiles) ? tiles.join(" ") : (tiles ?? ""));
      stay.control.value = written(limit.stay);
      go.control.value = written(limit.go);
      seen.control.value = written(elsewhere);
      for (const [name, { box }] of Object.entries(ticks)) box.checked = Boolean(limit[name]);
      for (const [name, [count, reach]] of Object.entries(keep)) {
        count.control.value = limit[name]?.count ?? "";
        reach.control.value = limit[name] ? +(100 * limit[name].reach).toPrecision(12) : "";
      }
      for (const [name, each] of Object.entries(coming)) each.control.value = arrivals?.[name] ?? "";
      drill.control.value = left?.exchanges_left ?? "";
      ahead.box.checked = Boolean(look);
      named.value = limit;
      const open = [
        limit.stay ||
          limit.go ||
          Object.keys(ticks).some((name) => limit[name]) ||
          limit.keep_hands ||
          limit.keep_families,
        limit.only || limit.without || limit.weights,
        elsewhere || left || look || Object.keys(arrivals ?? {}).length,
      ];
      open.forEach((set, at) => set && (element.children[at].open = true));
    },
  };
}
