/** A card as the text of a file: to look at, paste, copy and save; its faults with their lines. */

import { button, html, lines as textArea, nothing } from "../shared/draw.js";
import { saveFile } from "../shared/page.js";
import { fileOf } from "./shelf.js";

/**
 * Return the part of the editor that holds the text.
 * @param {() => {toml: string|null, title: string, found: Object|null}} now The card as it stands.
 * @param {(text: string) => void} take Told of a text that is to be the card.
 * @param {() => void} redraw
 */
export function textPart(now, take, redraw) {
  // What is being typed, or null while the text is the card's.
  let typed = null;
  let shown = false;
  let told = "";

  const text = () => typed ?? now().toml ?? now().found?.toml ?? "";
  // Not while the text of the latest change is on its way.
  const late = () => typed === null && now().toml === null;

  async function copy() {
    try {
      await navigator.clipboard.writeText(text());
      told = "Copied.";
    } catch {
      document.getElementById("card-text").select();
      told = "Selected: copy it with Ctrl + C.";
    }
    redraw();
  }

  function use() {
    const written = text();
    typed = null;
    take(written);
  }

  function goTo(line) {
    const area = document.getElementById("card-text");
    const lines = area.value.split("\n");
    const start = lines.slice(0, line - 1).reduce((sum, each) => sum + each.length + 1, 0);
    area.focus();
    area.setSelectionRange(start, start + lines[line - 1].length);
    const high = parseFloat(getComputedStyle(area).lineHeight);
    area.scrollTop = Math.max(0, (line - 3) * high);
  }

  function faults() {
    const lines = text().split("\n");
    const inText = (now().found?.faults ?? []).filter(({ pointer }) => pointer === "#/card/toml");
    return inText.map(({ detail }) => {
      const line = Number(detail.match(/\bline (\d+)/)?.[1] ?? 0);
      return html`<li>
        ${
          line && line <= lines.length
            ? html`<p class="excerpt">
                <span class="number">line ${line}</span><code>${lines[line - 1].trim() || "(empty)"}</code>
              </p>`
            : nothing
        }
        <p>${detail}</p>
        ${
          line && line <= lines.length
            ? button(`Go to line ${line}`, () => goTo(line), { kind: "small" })
            : nothing
        }
      </li>`;
    });
  }

  return {
    open: () => void (shown = true),
    close: () => void ([typed, shown, told] = [null, false, ""]),
    view: () => html`
      <details class="part card-as-text" ?open=${shown} @toggle=${(event) => (shown = event.target.open)}>
        <summary>The card as text</summary>
        <div class="inside">
          ${textArea("Text of the card", text(), (written) => ((typed = written), redraw()), {
            id: "card-text",
            rows: 12,
          })}
          <p class="hint">
            TOML: [card], then one [[hand]] for each hand. Remarks after # stay as long as the card is not
            changed above.
          </p>
          <div class="buttons">
            ${button("Take this text", use, { kind: typed === null ? "" : "primary", off: typed === null })}
            ${button("Copy it", copy, { off: late() })}
            ${button("Save as a file", () => saveFile(new Blob([text()], { type: "application/toml" }), fileOf(now().title)), { off: late() })}
            <span class="hint" role="status">${told}</span>
          </div>
          <ol class="card-faults">
            ${faults()}
          </ol>
        </div>
      </details>
    `,
  };
}
