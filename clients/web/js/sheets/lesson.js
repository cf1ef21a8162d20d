/** Racks composed for a lesson: what is wished of them, in a fold that fills the racks that are typed. */

import { button, html, input, nothing, select } from "../shared/draw.js";
import { post } from "../shared/service.js";
import { counted } from "../shared/words.js";

export const NO_LESSON = {
  near: [
    ["", "6"],
    ["", "6"],
  ],
  holds: "",
  flowers: "",
  apart: "4",
};
const SEEDS = 1_000_000;

/** What is asked of the service. */
function request(wish, card) {
  const near = wish.near.filter(([name]) => name).map(([name, away]) => ({ name, away: Number(away) }));
  const exactly = (name) => (wish[name] === "" ? {} : { [name]: Number(wish[name]) });
  return {
    card,
    round: wish.round,
    near,
    seed: wish.seed === "" ? Math.floor(Math.random() * SEEDS) : Number(wish.seed),
    count: Number(wish.count),
    apart: Number(wish.apart),
    difficulty: wish.difficulty,
    ...(wish.holds.trim() ? { holds: wish.holds } : {}),
    ...(wish.family ? { family: wish.family } : {}),
    ...exactly("jokers"),
    ...exactly("flowers"),
  };
}

/**
 * Return the fold.
 * `wish` is what is wished, `set(part)` changes it, `card` is as the service takes it, `common` are the controls
 * that deals have too, `notice` tells how it goes.
 */
export function lesson({ wish, set, card, hands, families, common, notice }) {
  async function compose() {
    notice.say("Composing racks…");
    try {
      const { deals, complete } = await post("v1/compositions", request(wish, card), { waiting: notice.say });
      set({ racks: deals.map(({ rack }) => rack.join(" ")).join("\n") });
      if (complete) notice.clear();
      else
        notice.say(`Only ${counted(deals.length, "rack")} found: with fewer wishes there may be more.`);
    } catch (error) {
      notice.show(error, error.kind === "refused" ? null : compose);
    }
  }

  const names = [["", "any"], ...[...families, ...hands].map((name) => [name, name])];
  const near = ([name, away], at) => {
    const put = (pair) => set({ near: wish.near.with(at, pair) });
    return html`${select(`Hand or family ${at + 1}`, names, name, (chosen) => put([chosen, away]))}
    ${name ? input(`Tiles away ${at + 1}`, away, (number) => put([name, number]), { type: "number", min: 0, max: 14 }) : nothing}`;
  };

  return html`<details class="lesson">
    <summary>Racks for a lesson</summary>
    <p class="hint">Racks so many tiles away from a family or a hand, each unlike the others.</p>
    <div class="triple">
      ${wish.near.map(near)}
      ${input("Tiles in each rack", wish.holds, (holds) => set({ holds }), { kind: "mono", placeholder: "any" })}
      ${input("Flowers", wish.flowers, (flowers) => set({ flowers }), { type: "number", min: 0, max: 8, placeholder: "any number" })}
      ${input("Tiles that differ", wish.apart, (apart) => set({ apart }), { type: "number", min: 1, max: 14 })}
    </div>
    ${common}
    <div class="buttons">${button("Compose the racks", compose)}</div>
  </details>`;
}
