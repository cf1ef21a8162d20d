/** One hand of a card, drawn once as an example, with what is open in words. */

import { grouped, html } from "../shared/draw.js";
import { groupsOf } from "./notation.js";

/** A hand as the service tells it, drawn. */
export function drawnHand(hand) {
  const { chance, forms, free } = hand.words;
  const facts = [
    free,
    forms,
    hand.concealed && "concealed",
    hand.weight !== 1 && `counts ${hand.weight} times`,
  ];
  return html`<li class="drawn-hand">
    <div class="hand-head">
      <strong class="hand-name">${hand.name}</strong><span class="away">${chance}</span>
    </div>
    ${grouped(split(hand.example, hand.groups[0]))}
    <p class="hint">${facts.filter(Boolean).join(" · ")}</p>
  </li>`;
}

/** Part an example into the groups of its notation. */
function split(example, notation) {
  let at = 0;
  return groupsOf(notation).map(({ count }) => example.slice(at, (at += count)));
}
