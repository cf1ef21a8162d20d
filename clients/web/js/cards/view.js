/** Cards: the list, one card with its hands drawn, and the way to make and mend one. */

import { button, html, nothing, render, select } from "../shared/draw.js";
import { h } from "../shared/page.js";
import { noticeArea } from "../shared/parts.js";
import { get } from "../shared/service.js";
import { drawnHand } from "./drawn.js";
import { editor } from "./editor.js";
import * as shelf from "./shelf.js";

const VIEW = "#/cards";
const MOST = 1_000_000;
const EMPTY = { card: { name: "My card" }, hand: [] };

/** Return the view: its element, `title`, and `open(fragment)`. */
export function cardsView() {
  const notice = noticeArea();
  const stage = h("div", { class: "cards-stage" });
  const element = h(
    "section",
    { class: "view cards", "aria-label": "Cards", on: { dragover: drag, dragleave: drag, drop } },
    stage,
    notice.element,
  );
  const editing = editor(notice);
  let shown = { place: "list", id: null, card: null, family: "", trait: "" };
  let traits = [];

  const go = (place, id = "") => {
    location.hash = `${VIEW}${place === "list" ? "" : `/${place}/${encodeURIComponent(id)}`}`;
  };

  function draw() {
    if (element.hidden) return;
    const { place, id } = shown;
    element.classList.toggle("one-card", place !== "list");
    render(place === "list" ? list() : place === "show" ? oneCard() : editing.view(id), stage);
  }

  async function open(fragment) {
    const [, place = "list", id = ""] = fragment.match(/^#\/cards\/(\w+)\/(.+)$/) ?? [];
    notice.clear();
    shown = { place, id: decodeURIComponent(id), card: null, family: "", trait: "" };
    if (place === "edit" && !shelf.ownCard(shown.id)) shown.place = "list";
    if (shown.place === "edit") editing.open(shown.id, draw);
    draw();
    shelf.reload();
    if (shown.place === "show") await fetchCard();
  }

  async function fetchCard() {
    const of = shown;
    try {
      const [card, described] = await Promise.all([shelf.inFull(of.id), get("v1/limits")]);
      if (of !== shown) return;
      traits = described.traits;
      if (card === null) return go("edit", of.id);
      of.card = card;
      draw();
    } catch (error) {
      if (of === shown) notice.show(error, fetchCard);
    }
  }

  /* The list. */

  function list() {
    const { cards, left_out: leftOut } = shelf.ofService();
    const folder = cards.filter((card) => card.source === "folder");
    const own = shelf.ofBrowser();
    return html`
      <h1>Cards</h1>
      <p class="lead">
        Every view plays by one card:
        <strong id="chosen-card">${shelf.titleOf(shelf.chosenId())}</strong>.
      </p>
      <div class="buttons">
        ${button("Make a new card", () => edit(EMPTY), { kind: "primary" })}
        <label class="button"
          >Open a card file, or drop it here<input
            type="file"
            class="sr"
            accept=".toml,text/plain"
            @change=${(event) => openFile(event.target.files[0])}
        /></label>
      </div>
      ${
        own.length
          ? html`<h2>In this browser</h2>
              ${own.map(ownRow)}`
          : nothing
      }
      ${
        folder.length
          ? html`<h2>Of this server</h2>
              ${folder.map(row)}`
          : nothing
      }
      <h2>Practice cards</h2>
      ${cards.filter((card) => card.source !== "folder").map(row)}
      ${leftOut.map((says) => html`<p class="notice bad">Left out: ${says}.</p>`)}
      <p class="hint">
        Cards that you make stay in this browser. To have one everywhere, save it as a file, and on the
        machine of the server run <code>threepass cards add FILE</code>.
      </p>
    `;
  }

  const row = (card) => entry(card.name, card.title, card.words, card.families);

  const ownRow = (card) => {
    const hands = card.form?.hand ?? [];
    const size = card.form === null ? "a text that is not read yet" : `${hands.length} hands`;
    return entry(
      card.id,
      card.title || "(no name)",
      size,
      [...new Set(hands.map((hand) => hand.family))],
      [
        button("Change", () => go("edit", card.id), { name: `Change ${card.title}` }),
        button("Remove", () => forget(card), { name: `Remove ${card.title}` }),
      ],
    );
  };

  const entry = (id, title, size, families, more = []) => html`
    <article class="panel card-row" data-card=${id}>
      <h3><a href="${VIEW}/show/${encodeURIComponent(id)}">${title}</a></h3>
      <p>${size ?? nothing}</p>
      ${families?.length ? html`<p class="hint">${families.join(", ")}</p>` : nothing}
      <div class="buttons">
        ${use(id, title)}
        ${button("See its hands", () => go("show", id), { name: `See the hands of ${title}` })} ${more}
      </div>
    </article>
  `;

  const use = (id, title) =>
    id === shelf.chosenId()
      ? html`<span class="in-use">✓ in use</span>`
      : button("Use this card", () => shelf.choose(id), { name: `Use ${title}` });

  function forget(card) {
    if (
      !window.confirm(`Remove ${card.title} from this browser for good? Save it as a file first to keep it.`)
    )
      return;
    shelf.remove(card.id);
    draw();
  }

  function drag(event) {
    event.preventDefault();
    element.classList.toggle("over", event.type === "dragover");
  }

  function drop(event) {
    drag(event);
    openFile(event.dataTransfer.files[0]);
  }

  async function openFile(file) {
    if (!file) return;
    if (file.size > MOST)
      return notice.show(
        new Error(`${file.name} is larger than a card may be (${MOST.toLocaleString("en")} bytes).`),
      );
    try {
      const toml = new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
      const id = shelf.add({ title: file.name.replace(/\.toml$/, ""), form: null, toml });
      go("edit", id);
    } catch {
      notice.show(new Error(`${file.name} cannot be read, or is not text in UTF-8.`));
    }
  }

  /** Begin a new card of this browser with a form. */
  function edit(form) {
    go("edit", shelf.add({ title: form.card.name, form: structuredClone(form), toml: null }));
  }

  /* One card. */

  function oneCard() {
    const { id, card, family, trait } = shown;
    if (!card)
      return html`<h1>${shelf.titleOf(id)}</h1>
        <p role="status">Reading the card…</p>`;
    const hands = card.hands.filter(
      (hand) => (!family || hand.family === family) && (!trait || hand.traits.includes(trait)),
    );
    const families = card.families.filter((name) => hands.some((hand) => hand.family === name));
    return html`
      <p class="back"><a href=${VIEW}>All cards</a></p>
      <h1>${card.title}</h1>
      <p>${card.words.size}. ${card.words.odds}</p>
      <div class="buttons">
        ${use(id, card.title)} ${button("Print", () => window.print())}
        ${
          shelf.ownCard(id)
            ? button("Change", () => go("edit", id))
            : button("Make a copy to change", () => edit(formOf(card)))
        }
      </div>
      <div class="pair filters">
        ${select("Family", [["", "all"], ...card.families.map((name) => [name, name])], family, (value) =>
          filter({ family: value }),
        )}
        ${select(
          "Kind of hand",
          [["", "all"], ...traits.map(({ name, sentence }) => [name, sentence])],
          trait,
          (value) => filter({ trait: value }),
        )}
      </div>
      <p class="hint" role="status">${hands.length} of ${card.hands.length} hands.</p>
      <p class="hint">
        Each hand is drawn once as an example; below it stands what is open. Suits of one hand differ from
        each other. A dragon that follows a suit is green with bams, red with craks, white with dots.
        ${card.words.note}
      </p>
      ${families.map(
        (name) =>
          html`<section class="family">
            <h2>${name}</h2>
            <ol class="drawn-hands">
              ${hands.filter((hand) => hand.family === name).map(drawnHand)}
            </ol>
          </section>`,
      )}
    `;
  }

  function filter(wanted) {
    Object.assign(shown, wanted);
    draw();
  }

  shelf.onChange(draw);
  return { element, title: "Cards", open };
}

/** A card in full as one writes it. */
const formOf = ({ title, hands }) => ({
  card: { name: title },
  hand: hands.map(({ name, family, groups, where, concealed, weight }) => ({
    name,
    family,
    groups: groups.length === 1 ? groups[0] : groups,
    ...(where ? { where } : {}),
    ...(concealed ? { concealed } : {}),
    ...(weight === 1 ? {} : { weight }),
  })),
});
