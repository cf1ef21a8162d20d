/** The rounds of a Charleston and how many own tiles each lets one give (common practice, no source). */

import { h, newId } from "../shared/dom.js";
import { choice, field } from "../shared/field.js";

const GROUPS = [
  [
    "First Charleston",
    [
      ["first_right", "Right", "→"],
      ["first_across", "Across", "↑"],
      ["first_left", "Left", "←"],
    ],
  ],
  [
    "Second Charleston",
    [
      ["second_left", "Left", "←"],
      ["second_across", "Across", "↑"],
      ["second_right", "Right", "→"],
    ],
  ],
  ["Afterwards", [["courtesy", "Courtesy", "↑"]]],
];
const CHOOSES = {
  first_left: "Fewer of your own means passing as many incoming tiles on blind.",
  second_right: "Fewer of your own means passing as many incoming tiles on blind.",
  courtesy: "A courtesy pass may be of 0 to 3 tiles.",
};

/** Return the choice of a round and of how many own tiles go. */
export function roundChoice(changed) {
  const name = newId("round");
  const radios = [];
  const give = field(
    "Own tiles to give",
    choice(
      [
        ["", "Whatever is best"],
        ["0", "0"],
        ["1", "1"],
        ["2", "2"],
        ["3", "3"],
      ],
      { on: { change: () => changed() } },
    ),
    " ",
  );
  const hint = give.element.querySelector(".hint");

  function show() {
    const round = value();
    give.element.hidden = !(round in CHOOSES);
    hint.textContent = CHOOSES[round] ?? "";
    changed();
  }

  const value = () => radios.find((radio) => radio.checked).value;
  const groups = GROUPS.map(([title, rounds]) =>
    h(
      "div",
      { class: "round-group", role: "group", "aria-label": title },
      h("span", { class: "group-name", "aria-hidden": "true" }, title),
      h(
        "div",
        { class: "pills" },
        rounds.map(([round, label, arrow]) => {
          const radio = h("input", { type: "radio", name, value: round, on: { change: show } });
          radios.push(radio);
          return h(
            "label",
            { class: "pill" },
            radio,
            h("span", {}, h("span", { class: "arrow", "aria-hidden": "true" }, arrow), ` ${label}`),
          );
        }),
      ),
    ),
  );
  radios[0].checked = true;
  const element = h("fieldset", { class: "rounds" }, h("legend", {}, "Round"), groups, give.element);
  give.element.hidden = true;
  return {
    element,
    fault: give.fault,
    get value() {
      const given = give.element.hidden ? "" : give.control.value;
      return { round: value(), give: given === "" ? null : Number(given) };
    },
    set value({ round, give: given = null }) {
      const radio = radios.find((each) => each.value === round);
      if (radio) radio.checked = true;
      give.control.value = given === null ? "" : String(given);
      show();
    },
  };
}
