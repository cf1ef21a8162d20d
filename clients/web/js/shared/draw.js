/** Views that are drawn anew from what they know, by the kept library lit-html: what has not changed stays in place. */

import { html, nothing, render } from "../../vendor/lit-html.js";
import { ROWS, allInWords, copies, tally, tileWords } from "../tiles/kinds.js";

export { html, nothing, render };

/** A tile as a template. `state` as in `face`. */
export const tile = (token, state = "") =>
  html`<svg viewBox="0 0 60 80" class="tile ${state}" aria-hidden="true" focusable="false">
    <use href="tiles.svg#${token}"></use>
    ${state === "joker" ? html`<use href="tiles.svg#stands"></use>` : nothing}
  </svg>`;

/** Tiles in a row, and the same in words for who cannot see them. */
export const tiles = (tokens, size = "small", blind = 0) => {
  const unseen = blind ? `${blind} blind` : "";
  const words = [tokens.length || !blind ? allInWords(tokens) : "", unseen].filter(Boolean).join(", ");
  return html`<span class="tiles wrap ${size}"
    ><span class="sr">${words}</span>${tokens.map((token) => tile(token))}${
      blind ? html`<span class="blind" aria-hidden="true">+ ${unseen}</span>` : nothing
    }</span
  >`;
};

/** Tiles in groups with a gap between them. */
export const grouped = (groups) =>
  html`<span class="tiles small wrap groups"
    ><span class="sr">${allInWords(groups.flat())}</span>${groups.map(
      (group) => html`<span class="tile-group">${group.map((token) => tile(token))}</span>`,
    )}</span
  >`;

/** A button. */
export const button = (label, click, { kind = "", name = null, off = false, ...more } = {}) =>
  html`<button
    type="button"
    class=${kind}
    aria-label=${name ?? nothing}
    aria-pressed=${more.pressed === undefined ? nothing : String(more.pressed)}
    ?disabled=${off}
    @click=${click}
  >
    ${label}
  </button>`;

/** One of several choices, as buttons of which one is pressed. */
export const chips = (name, options, chosen, choose, more = "") =>
  html`<div class="chips ${more}" role="group" aria-label=${name}>
    ${options.map(([value, label, spoken]) =>
      button(label, () => choose(value), {
        kind: "chip",
        pressed: value === chosen,
        name: spoken ?? null,
      }),
    )}
  </div>`;

/** A labelled text field. */
export const input = (label, value, typed, { type = "text", hint = null, faults = [], ...more } = {}) => {
  const id = `in-${label.toLowerCase().replace(/[^a-z0-9]+/g, "-")}${more.unique ?? ""}`;
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <input
      id=${id}
      type=${type}
      class=${more.kind ?? ""}
      .value=${String(value ?? "")}
      list=${more.list ?? nothing}
      min=${more.min ?? nothing}
      max=${more.max ?? nothing}
      step=${more.step ?? nothing}
      placeholder=${more.placeholder ?? nothing}
      maxlength=${more.maxlength ?? nothing}
      autocomplete="off"
      autocapitalize=${more.kind === "mono" ? "off" : nothing}
      spellcheck=${more.kind === "mono" ? "false" : nothing}
      aria-invalid=${faults.length ? "true" : nothing}
      aria-describedby=${faults.length ? `${id}-faults` : hint ? `${id}-hint` : nothing}
      @input=${(event) => typed(event.target.value)}
    />
    ${hint ? html`<p class="hint" id="${id}-hint">${hint}</p>` : nothing} ${faultList(faults, `${id}-faults`)}
  </div>`;
};

/** A labelled text of many lines. */
export const lines = (label, value, typed, { id, rows = 8 }) => html`
  <label for=${id}>${label}</label>
  <textarea
    id=${id}
    class="mono"
    rows=${rows}
    spellcheck="false"
    autocapitalize="off"
    wrap="off"
    .value=${value}
    @input=${(event) => typed(event.target.value)}
  ></textarea>
`;

/** A labelled choice of [value, label] pairs. */
export const select = (label, options, value, chosen, unique = "") => {
  const id = `sel-${label.toLowerCase().replace(/[^a-z0-9]+/g, "-")}${unique}`;
  return html`<div class="field">
    <label for=${id}>${label}</label>
    <select id=${id} .value=${String(value ?? "")} @change=${(event) => chosen(event.target.value)}>
      ${options.map(
        ([each, says]) =>
          html`<option value=${each} ?selected=${String(each) === String(value ?? "")}>${says}</option>`,
      )}
    </select>
  </div>`;
};

/** A labelled tick. */
export const ticked = (label, on, change) =>
  html`<label class="tick"
    ><input type="checkbox" .checked=${on} @change=${(event) => change(event.target.checked)} /><span
      >${label}</span
    ></label
  >`;

/** Faults at their place. */
export const faultList = (faults, id = null) =>
  faults.length
    ? html`<ul class="faults" id=${id ?? nothing}>
        ${faults.map((says) => html`<li>${says}</li>`)}
      </ul>`
    : nothing;

/** All kinds to tap; `held` are marked, and of which the set has no more cannot be added. */
export const kinds = (label, held, pick) => {
  const counts = tally(held);
  return html`<div class="picker" role="group" aria-label=${label}>
    ${ROWS.map(
      ([name, tokens]) =>
        html`<div class="kinds" role="group" aria-label=${name}>
          ${tokens.map((token) => {
            const have = counts.get(token) ?? 0;
            return html`<button
              type="button"
              class="kind"
              data-token=${token}
              aria-label="Add ${tileWords(token)}${have ? `, ${have} there` : ""}"
              aria-disabled=${String(have >= copies(token))}
              @click=${() => have < copies(token) && pick(token)}
            >
              ${tile(token)}<span class="count" aria-hidden="true">${have || ""}</span>
            </button>`;
          })}
        </div>`,
    )}
  </div>`;
};
