/** Making and mending a card of this browser: its hands in order, what is wrong with each, and the card as text. */

import { button, faultList, html, input, nothing, tile } from "../shared/draw.js";
import { later } from "../shared/page.js";
import { counted } from "../shared/words.js";
import { handEditor, newHandState } from "./hand_editor.js";
import { exampleN, exampleOf, groupsOf, waysOf } from "./notation.js";
import * as shelf from "./shelf.js";
import { textPart } from "./text.js";

const CHECK_MS = 250;
const MOST_UNDONE = 200;

/**
 * Return the editor.
 * @param {Object} notice Where it is told that the service does not answer.
 * @returns {{open: (id: string, redraw: () => void) => void, view: () => Object}}
 */
export function editor(notice) {
  let id, form, toml, found, past, hand, state, redraw, key;
  let checks = 0;
  const checkSoon = later(CHECK_MS, () => check());
  const text = textPart(
    () => ({ toml, title: form?.card?.name ?? shelf.ownCard(id)?.title ?? "card", found }),
    take,
    () => redraw(),
  );

  function open(card, draw) {
    redraw = draw;
    if (id === card && found) return;
    id = card;
    ({ form, toml } = structuredClone(shelf.ownCard(id)));
    [past, found, hand, key] = [[], null, null, null];
    text.close();
    if (form === null) text.open();
    check();
  }

  /** Check the card as it stands; a text is checked first, for what it holds, and then that. */
  async function check() {
    const mine = (checks += 1);
    try {
      let answer = await shelf.checked(form ?? { toml, file: shelf.fileOf(shelf.ownCard(id).title) });
      if (mine !== checks) return;
      if (form === null && isForm(answer.form)) {
        form = answer.form;
        if (!answer.ok) answer = await shelf.checked(form);
        if (mine !== checks) return;
      }
      found = answer;
      toml ??= answer.toml;
      store();
      notice.clear();
      redraw();
    } catch (error) {
      if (mine === checks) notice.show(error, check);
    }
  }

  /**
   * Change the card.
   * @param {(form: Object) => void} how Changes the form in place.
   * @param {string|null} of Names what is typed in: one undo takes back all of it.
   */
  function change(how, of = null) {
    remember(of);
    how(form);
    toml = null;
    store();
    redraw();
    checkSoon();
  }

  function remember(of) {
    if (of === null || of !== key) past = [...past, JSON.stringify({ form, toml })].slice(-MOST_UNDONE);
    key = of;
  }

  function store() {
    const title = form?.card?.name ?? shelf.ownCard(id).title;
    if (!shelf.save(id, { title: String(title), form, toml }))
      notice.show(
        new Error("The browser does not keep this card: save it as a file before you leave the page."),
      );
  }

  function undo() {
    ({ form, toml } = JSON.parse(past.pop()));
    [hand, key] = [null, null];
    store();
    redraw();
    checkSoon();
  }

  /** Take a text in place of the card as it stands. */
  function take(written) {
    remember(null);
    [form, toml, hand] = [null, written, null];
    check();
  }

  /* Hands. */

  function openHand(at) {
    hand = at;
    state = newHandState();
    redraw();
  }

  function addHand() {
    const family = form.hand.at(-1)?.family ?? "hands";
    change((all) => all.hand.push({ name: freeName("Hand 1"), family, groups: "" }));
    openHand(form.hand.length - 1);
  }

  function freeName(wanted) {
    const names = new Set(form.hand.map((each) => each.name));
    const stem = wanted.replace(/ \d+$/, "");
    let number = 1;
    while (names.has(`${stem} ${number}`)) number += 1;
    return names.has(wanted) ? `${stem} ${number}` : wanted;
  }

  const move = (at, by) => {
    change((all) => all.hand.splice(at + by, 0, ...all.hand.splice(at, 1)));
    if (hand === at) hand = at + by;
    redraw();
  };

  const copy = (at) => {
    change((all) =>
      all.hand.splice(at + 1, 0, { ...structuredClone(all.hand[at]), name: freeName(all.hand[at].name) }),
    );
    openHand(at + 1);
  };

  const drop = (at) => {
    hand = null;
    change((all) => all.hand.splice(at, 1));
  };

  /** Faults of a part of the card: `[rest of the place, sentence]`. */
  function faultsOf(prefix) {
    const start = `#/card/${prefix}`;
    return (found?.faults ?? [])
      .filter(({ pointer }) => pointer === start || pointer.startsWith(`${start}/`))
      .map(({ pointer, detail }) => [
        decodeURIComponent(pointer.slice(start.length + 1)),
        detail.replace(/^hand (['"]).*?\1: /, ""),
      ]);
  }

  const said = (faults) => faults.map(([, says]) => says);

  function row(each, at) {
    if (at === hand)
      return html`<li class="panel open-hand">
        ${handEditor({
          hand: each,
          at,
          state,
          families: [...new Set(form.hand.map(({ family }) => family))],
          faults: faultsOf(`hand/${at}`),
          told: found?.hands[at],
          change: (how, of = null) => change((all) => how(all.hand[at]), of && `${at} ${of}`),
          redraw,
        })}
        <div class="buttons hand-actions">
          ${button("Done with this hand", () => openHand(null), { kind: "primary" })}
          ${button("↑ Up", () => move(at, -1), { off: at === 0, name: "Move this hand up" })}
          ${button("↓ Down", () => move(at, 1), { off: at === form.hand.length - 1, name: "Move this hand down" })}
          ${button("Copy", () => copy(at), { name: "Copy this hand" })}
          ${button("Remove", () => drop(at), { name: "Remove this hand" })}
        </div>
      </li>`;
    const told = found?.hands[at];
    const wrong = faultsOf(`hand/${at}`);
    return html`<li class="hand-row">
      <button type="button" class="open-row" aria-label="Change ${each.name}" @click=${() => openHand(at)}>
        <span class="hand-name">${each.name || "(no name)"}</span> <span class="hint">${each.family}</span>
        ${sketch(each)}
        <span class=${wrong.length ? "bad" : "hint"}>
          ${wrong.length ? said(wrong).join("; ") : told ? `${told.words.forms}, ${told.words.chance}` : "…"}
        </span>
      </button>
    </li>`;
  }

  function view() {
    const title = form?.card?.name ?? shelf.ownCard(id)?.title;
    const inUse = id === shelf.chosenId();
    return html`
      <p class="back"><a href="#/cards">All cards</a></p>
      <h1>${title || "(no name)"}</h1>
      ${
        form
          ? html`
              ${input(
                "Name of the card",
                form.card.name,
                (name) => change((all) => (all.card.name = name), "name"),
                {
                  faults: said(faultsOf("card")),
                  maxlength: 60,
                },
              )}
              <ol class="hand-list">
                ${form.hand.map(row)}
              </ol>
              <div class="buttons">
                ${button("+ Add a hand", addHand, { kind: hand === null ? "primary" : "" })}
                ${button("Undo", undo, { off: past.length === 0 })}
              </div>
              ${standing()}
              <div class="buttons">
                ${
                  inUse
                    ? html`<span class="in-use">✓ in use</span>`
                    : button("Use this card", () => shelf.choose(id), { off: !found?.ok })
                }
                <a class="button" href="#/cards/show/${encodeURIComponent(id)}">See it as it is read</a>
              </div>
            `
          : nothing
      }
      ${text.view()}
    `;
  }

  /** What the service says of the card as a whole. */
  function standing() {
    if (form.hand.length === 0) return html`<p class="hint">A card needs at least one hand.</p>`;
    if (!found) return html`<p class="hint" role="status">Checking…</p>`;
    const rest = found.faults.filter(({ pointer }) => !/^#\/card\/(hand\/\d|card)/.test(pointer));
    return html`<div class="standing" role="status">
      ${
        found.ok
          ? html`<p class="good">No faults: ${found.card.words.size}. ${found.card.words.odds}</p>`
          : html`<p class="bad">${counted(found.faults.length, "fault")}: each stands with its hand.</p>`
      }
      ${faultList(rest.map(({ detail }) => detail))}
      ${found.remarks.map(({ hand: of, detail }) => html`<p class="hint">${form.hand[of]?.name}: ${detail}</p>`)}
    </div>`;
  }

  return { open, view };
}

/** A form that can be shown in controls: hands are objects. */
function isForm(form) {
  const all = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
  return all(form) && all(form.card) && Array.isArray(form.hand) && form.hand.every(all);
}

/** The first way of a hand, drawn by what its text says. */
function sketch(hand) {
  const groups = groupsOf(waysOf(hand)[0]);
  const n = exampleN(groups, hand.where);
  return html`<span class="tiles small wrap groups"
    >${groups.map(({ tile: open, count }) => {
      const token = exampleOf(open, n);
      return token === null || count === null
        ? html`<code class="bad">${open}</code>`
        : html`<span class="tile-group">${Array.from({ length: count }, () => tile(token))}</span>`;
    })}</span
  >`;
}
