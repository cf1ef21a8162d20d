/** One hand, put together by tapping: a kind of tile, then how many; what is wrong stands beside the group it is in. */

import { button, chips, faultList, html, input, nothing, select, ticked, tile } from "../shared/draw.js";
import {
  HAND_SIZE,
  LETTERS,
  conditionOf,
  conditionWritten,
  exampleN,
  exampleOf,
  groupAt,
  groupsOf,
  numbered,
  numberedTile,
  sizeOf,
  suitOf,
  suitWords,
  tileWords,
  waysOf,
  written,
} from "./notation.js";

const COUNTS = [1, 2, 3, 4, 5, 6];
const FIXED = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
const RUN = ["n", ...[1, 2, 3, 4, 5, 6, 7, 8].map((shift) => `n+${shift}`)];
const KINDS = [
  ["number", "Number"],
  ["wind", "Wind"],
  ["dragon", "Dragon"],
  ["flower", "Flower"],
];
const NAMES = {
  north: "north",
  east: "east",
  west: "west",
  south: "south",
  green: "green",
  red: "red",
  white: "white",
};

/** What is being put together: `way` of the hand, the `group` that is changed (null: a new one), and the tile so far. */
export const newHandState = () => ({
  way: 0,
  group: null,
  kind: "number",
  rank: "n",
  suit: "p",
  named: "wind1",
});

/**
 * Return the controls of a hand.
 * @param {{hand: Object, state: Object, families: string[], faults: [string, string][], told: Object|null,
 *   change: (how: (hand: Object) => void, of?: string) => void, redraw: () => void}} of
 *   `faults` are pairs of a place within the hand and what is wrong; `told` is what the service says of the hand.
 */
export function handEditor({ hand, at, state, families, faults, told, change, redraw }) {
  const ways = waysOf(hand);
  const way = (state.way = Math.min(state.way, ways.length - 1));
  const groups = groupsOf(ways[way]);
  const n = exampleN(groups, hand.where);
  const size = sizeOf(groups);
  if (state.group !== null && !groups[state.group]) state.group = null;

  const wrong = (place) => faults.filter(([where]) => where === place).map(([, says]) => says);
  const ofWay = faults
    .filter(([place]) => place === `groups/${way}` || (place === "groups" && way === 0))
    .map(([, says]) => {
      const [, column, rest] = says.match(/^column (\d+): (.*)$/s) ?? [null, null, says];
      return { group: column && groupAt(ways[way], Number(column)), says: rest };
    });

  function setWays(all) {
    change((each) => (each.groups = all.length === 1 && !Array.isArray(each.groups) ? all[0] : all));
  }
  const setGroups = (all, of) =>
    change((each) => {
      const next = ways.with(way, written(all));
      each.groups = Array.isArray(each.groups) ? next : next[0];
    }, of);

  const chosenTile = () =>
    state.kind === "number"
      ? numberedTile(state.rank, state.suit)
      : state.kind === "flower"
        ? "flower"
        : state.named;

  /** Choose a part of the tile; a group that is being changed follows at once. */
  function pick(part) {
    Object.assign(state, part);
    if (state.group === null) return redraw();
    setGroups(groups.with(state.group, { ...groups[state.group], tile: chosenTile() }));
  }

  function pickCount(count) {
    if (state.group === null) setGroups([...groups, { tile: chosenTile(), count }]);
    else setGroups(groups.with(state.group, { tile: groups[state.group].tile, count }));
  }

  function select_(index) {
    const parts = numbered(groups[index].tile);
    const { tile: open } = groups[index];
    state.group = state.group === index ? null : index;
    if (parts) Object.assign(state, parts, { kind: "number" });
    else if (open === "flower") state.kind = "flower";
    else
      Object.assign(state, {
        kind: /^(wind|north|east|west|south)/.test(open) ? "wind" : "dragon",
        named: open,
      });
    redraw();
  }

  function shift(index, by) {
    const all = [...groups];
    all.splice(index + by, 0, ...all.splice(index, 1));
    if (state.group === index) state.group += by;
    setGroups(all);
  }

  const groupRow = ({ tile: open, count }, index) => {
    const token = exampleOf(open, n);
    const says = tileWords(groups, index) ?? open;
    const bad = ofWay.filter(({ group }) => group === index).map((fault) => fault.says);
    return html`<li class="group-row ${state.group === index ? "chosen" : ""}">
      <button
        type="button"
        class="group-face"
        aria-pressed=${String(state.group === index)}
        aria-label="Change group ${index + 1}: ${count ?? ""} of ${says}"
        @click=${() => select_(index)}
      >
        <span class="tiles small"
          >${
            token === null || count === null
              ? html`<code class="bad">${open}</code>`
              : Array.from({ length: count }, () => tile(token))
          }</span
        >
        <span>${index + 1}: ${says}</span>
      </button>
      <span class="group-tools">
        ${button("↑", () => shift(index, -1), { kind: "small", off: index === 0, name: `Move group ${index + 1} up` })}
        ${button("×", () => setGroups(groups.toSpliced(index, 1)), { kind: "small", name: `Remove group ${index + 1}` })}
      </span>
      ${faultList(bad)}
    </li>`;
  };

  return html`
    <div class="pair">
      ${input("Name of the hand", hand.name, (name) => change((each) => (each.name = name), "name"), {
        faults: wrong("name"),
        maxlength: 60,
      })}
      ${input("Family", hand.family, (family) => change((each) => (each.family = family), "family"), {
        faults: wrong("family"),
        list: "families",
        maxlength: 60,
        hint: "Your own word for hands that go together.",
      })}
    </div>
    <datalist id="families">${families.map((name) => html`<option value=${name}></option>`)}</datalist>
    ${
      ways.length > 1
        ? chips(
            "Ways to make it",
            ways.map((_, each) => [each, `Way ${each + 1}`]),
            way,
            (each) => (Object.assign(state, { way: each, group: null }), redraw()),
          )
        : nothing
    }
    <p class="total ${size === HAND_SIZE ? "good" : ""}" role="status">
      <strong>${size} of ${HAND_SIZE} tiles</strong>${told ? `: ${told.words.forms}, ${told.words.free}` : ""}
    </p>
    <ol class="group-list">
      ${groups.map(groupRow)}
    </ol>
    ${faultList([
      ...ofWay.filter(({ group }) => group === null || group < 0).map((fault) => fault.says),
      ...wrong(""),
      ...wrong("where"),
      ...wrong("weight"),
    ])}
    ${picker({ state, groups, n, pick, pickCount, leave: () => ((state.group = null), redraw()) })}
    <details class="part">
      <summary>Concealed, weight, limits on n, other ways, typing</summary>
      <div class="inside">
        ${ticked("Concealed", hand.concealed ?? false, (on) =>
          change((each) => (on ? (each.concealed = true) : delete each.concealed)),
        )}
        ${input(
          "How much it counts",
          hand.weight ?? 1,
          (typed) => change((each) => (each.weight = typed === "" ? 1 : Number(typed)), "weight"),
          { type: "number", min: 0, step: "any", hint: "1 is usual; 2 counts double." },
        )}
        ${condition(hand, change)}
        <div class="buttons">
          ${button("+ Another way to make this hand", () => {
            setWays([...ways, ways[way]]);
            Object.assign(state, { way: ways.length, group: null });
            redraw();
          })}
          ${
            ways.length > 1 ? button(`Remove way ${way + 1}`, () => setWays(ways.toSpliced(way, 1))) : nothing
          }
        </div>
        ${input(
          "The groups as they are written",
          ways[way],
          (typed) => {
            change((each) => {
              const next = ways.with(way, typed);
              each.groups = Array.isArray(each.groups) ? next : next[0];
            }, "groups");
          },
          { kind: "mono", hint: "tile*count, such as np*4 (n+5)q*4 flower*6" },
        )}
      </div>
    </details>
  `;
}

/** The kinds of tile, and how many. */
function picker({ state, groups, n, pick, pickCount, leave }) {
  const before = state.group ?? groups.length;
  const used = [
    ...new Set(groups.map((group) => suitOf(group.tile)).filter((suit) => LETTERS.includes(suit))),
  ];
  const free = LETTERS.find((letter) => !used.includes(letter));
  const letters = [...used, ...(free ? [free] : [])];
  const suits = letters.map((letter) => [letter, suitWords(letter, groups, before)]);
  const chosen =
    state.kind === "number"
      ? numberedTile(state.rank, state.suit)
      : state.kind === "flower"
        ? "flower"
        : state.named;
  const token = exampleOf(chosen, n);
  return html`
    <div class="tile-picker" role="group" aria-label="Put a group together">
      <p class="step-name">
        ${state.group === null ? "1. Tap a kind of tile" : `Changing group ${state.group + 1}`}
        ${state.group === null ? nothing : button("Add a new group instead", leave, { kind: "small" })}
      </p>
      ${chips("Kind", KINDS, state.kind, (kind) =>
        pick({ kind, named: kind === "wind" ? "wind1" : kind === "dragon" ? "dragon1" : state.named }),
      )}
      ${
        state.kind === "number"
          ? html`
              <p class="chip-head">Any number, and those that follow it</p>
              ${chips(
                "Open numbers",
                RUN.map((rank) => [rank, rank.replace("+", " + ")]),
                state.rank,
                (rank) => pick({ rank }),
              )}
              <p class="chip-head">Or this number exactly</p>
              ${chips(
                "Fixed numbers",
                FIXED.map((rank) => [rank, rank]),
                state.rank,
                (rank) => pick({ rank }),
              )}
              <p class="chip-head">Suit</p>
              ${chips("Suit", [...suits, ["bam", "bams"], ["crak", "craks"], ["dot", "dots"]], state.suit, (suit) => pick({ suit }))}
            `
          : nothing
      }
      ${
        state.kind === "wind"
          ? chips(
              "Wind",
              [["wind1", "any wind"], ["wind2", "another wind"], ...named("north", "east", "west", "south")],
              state.named,
              (name) => pick({ named: name }),
            )
          : nothing
      }
      ${
        state.kind === "dragon"
          ? chips(
              "Dragon",
              [
                ["dragon1", "any dragon"],
                ["dragon2", "another dragon"],
                ...suits.map(([letter, says]) => [`dragon(${letter})`, `dragon of: ${says}`]),
                ...named("green", "red", "white"),
              ],
              state.named,
              (name) => pick({ named: name }),
            )
          : nothing
      }
      <p class="step-name">
        ${state.group === null ? "2. Tap how many" : "How many"}
        <span class="tiles small">${token === null ? nothing : tile(token)}</span>
      </p>
      ${chips(
        "How many",
        COUNTS.map((count) => [count, `${count}`, `${count} of it`]),
        groups[state.group]?.count ?? null,
        pickCount,
        "counts",
      )}
      <p class="hint">Jokers are not written: they may stand in any group of three or more.</p>
    </div>
  `;
}

const named = (...names) => names.map((name) => [name, NAMES[name]]);

/** Limits on n; a condition of another form is shown as it is written. */
function condition(hand, change) {
  const parts = conditionOf(hand.where);
  if (parts === null)
    return input("Condition on n", hand.where, (typed) => change((each) => (each.where = typed), "where"), {
      kind: "mono",
    });
  const set = (part) =>
    change((each) => {
      const where = conditionWritten({ ...parts, ...part });
      if (where) each.where = where;
      else delete each.where;
    });
  const numbers = (open) => [["", open], ...FIXED.map((rank) => [rank, rank])];
  const number = (typed) => (typed === "" ? undefined : Number(typed));
  return html`<div class="triple">
    ${select("n from", numbers("any"), parts.from, (typed) => set({ from: number(typed) }))}
    ${select("n to", numbers("any"), parts.to, (typed) => set({ to: number(typed) }))}
    ${select(
      "n is",
      [
        ["", "any"],
        ["odd", "odd"],
        ["even", "even"],
      ],
      parts.parity,
      (typed) => set({ parity: typed || undefined }),
    )}
  </div>`;
}
