/** Reviewing a recorded Charleston: entered pass by pass or as text, checked as it grows, then graded. */

import { cardChooser } from "../cards/chooser.js";
import {
  button,
  chips,
  faultList,
  html,
  input,
  kinds,
  lines,
  nothing,
  render,
  select,
  ticked,
  tile,
  tiles,
} from "../shared/draw.js";
import { h, keep, kept, later, put } from "../shared/page.js";
import { noticeArea } from "../shared/parts.js";
import { EXCHANGES, COURTESY, PASS_SIZE, allowsBlind, roundWords } from "../shared/rounds.js";
import { foreign, post } from "../shared/service.js";
import { capital } from "../shared/words.js";
import { JOKER, tileWords, without } from "../tiles/kinds.js";
import { rackInput } from "../tiles/rack_input.js";
import { reviewView } from "./graded.js";
import {
  asRequest,
  asText,
  emptyPass,
  emptyRecord,
  entered,
  givenFaults,
  isWhole,
  nextRound,
  rackBefore,
  secondsOf,
} from "./record.js";

const KEY = "record";
const CHECK_MS = 400;
const RACKS = [13, 14];

/** Return the view: its element, `title`, and `open()`. */
export function reviewsView() {
  let record = kept(KEY) ?? emptyRecord();
  // The pass that is being entered; null: none is open.
  let at = record.passes.length ? record.passes.length - 1 : null;
  let faults = [];
  let text = null;
  // Whether the rack as dealt is being changed, once passes are there.
  let rackOpen = false;
  let checks = 0;
  const notice = noticeArea();
  const stage = h("div", { class: "entry" });
  const result = h("div", { class: "review-result" });
  const checkSoon = later(CHECK_MS, () => check());
  const card = cardChooser(() => checkSoon());
  const rack = rackInput((written) => {
    record.rack = written;
    changed();
  }, "Rack as dealt");
  const element = h(
    "section",
    { class: "view reviews", "aria-labelledby": "reviews-title" },
    h("h1", { id: "reviews-title" }, "Review a Charleston"),
    h("div", { class: "panel" }, stage),
    notice.element,
    result,
  );

  function changed() {
    keep(KEY, record);
    put(result);
    notice.clear();
    draw();
    checkSoon();
  }

  /** Have the service look for faults in what is there so far. */
  async function check() {
    const mine = (checks += 1);
    const asked = written();
    if (asked.records && !asked.records[0].exchanges.length) return tell([]);
    try {
      const found = await read(asked);
      if (mine === checks) tell(found.faults, found.records);
    } catch {
      // It is asked again with the next change, and before anything is graded.
    }
  }

  const read = (asked) => post("v1/records/check", asked);
  const written = () =>
    text === null ? { records: [asRequest(record, card.value)] } : { text, card: card.value };

  function tell(found, records = []) {
    faults = found;
    if (text !== null && records.length) record = entered(records[0]);
    if (text !== null) keep(KEY, record);
    draw();
  }

  const faultsAt = (place) =>
    faults
      .filter(
        ({ pointer }) => pointer.startsWith(`#/records/0/${place}/`) || pointer === `#/records/0/${place}`,
      )
      .map(({ detail }) => detail);

  async function grade() {
    notice.say("Grading…");
    try {
      const { reviews, session } = await post("v1/reviews", written(), { waiting: notice.say });
      const shown = reviews.map((review) =>
        reviewView({ review, session }, { card: card.value, drill: record.drill }),
      );
      notice.clear();
      put(result, h("h2", { tabindex: "-1" }, "How it was"), h("div", { class: "panel" }, shown));
      result.firstChild.focus();
      result.scrollIntoView({ block: "start" });
    } catch (error) {
      notice.show(error.kind ? error : foreign(), error.kind === "refused" ? null : grade);
    }
  }

  function startOver() {
    if (record.passes.length && !window.confirm("Throw away what is entered and begin anew?")) return;
    [record, at, text, faults] = [emptyRecord(), null, null, []];
    rack.value = "";
  }

  /** Between tapping and typing: both show the same record. */
  async function mode(typed) {
    if (!typed && text !== null) {
      // What was typed last may not have been read yet, and what cannot be read now is not thrown away.
      try {
        const found = await read(written());
        checks += 1;
        tell(found.faults, found.records);
      } catch (error) {
        notice.show(error.kind ? error : foreign(), () => mode(typed));
        return;
      }
    }
    text = typed ? asText(record) : null;
    if (!typed) {
      rack.value = record.rack;
      at = record.passes.length ? record.passes.length - 1 : null;
    }
    changed();
  }

  /* Drawing. */

  function draw() {
    render(
      html`
        ${card.element}
        ${chips(
          "How to enter",
          [
            [false, "Tap it in"],
            [true, "Type it"],
          ],
          text !== null,
          mode,
        )}
        ${text === null ? tapped() : typed()}
        <div class="buttons main-action">
          ${button("Grade it", grade, { kind: "primary", off: text === null && !asRequest(record, "").exchanges.length })}
          ${button("Begin anew", startOver)}
        </div>
      `,
      stage,
    );
  }

  function typeText(written) {
    text = written;
    put(result);
    checkSoon();
  }

  const typed = () => html`
    ${lines("A line a pass", text, typeText, { id: "record-text" })}
    <p class="hint">
      What you gave &gt; what came in, and the time if you took it: <code>left: 8b 9b +1 &gt; S W 0:26</code>.
      A blind pass is <code>+1</code>; <code>?</code> is what came in last, if you do not know it.
    </p>
    ${faultList(faults.map(({ detail }) => detail))}
  `;

  function tapped() {
    const size = rackBefore(record, 0).length;
    return html`
      ${
        record.passes.length && !rackOpen && !faultsAt("rack").length
          ? html`<div class="closed-pass">
              <strong>As dealt</strong> ${tiles(rackBefore(record, 0))}
              ${button("Change", () => ((rackOpen = true), draw()), { kind: "small", name: "Change the rack as dealt" })}
            </div>`
          : html`${rack.element} ${faultList(faultsAt("rack"))}`
      }
      ${ticked("It was a one-person drill", record.drill, (on) => ((record.drill = on), changed()))}
      ${
        RACKS.includes(size)
          ? html`
              <ol class="entered">
                ${record.passes.map((pass, index) => (index === at ? openPass(pass, index) : closedPass(pass, index)))}
              </ol>
              ${
                at === null || isWhole(record, at)
                  ? html`<div class="buttons">
                      ${button(record.passes.length ? "+ Next pass" : "+ The first pass", addPass, { kind: "primary" })}
                    </div>`
                  : nothing
              }
            `
          : html`<p class="hint">Enter the rack as it was dealt first; then the passes.</p>`
      }
    `;
  }

  function addPass() {
    record.passes.push(emptyPass(nextRound(record.passes)));
    at = record.passes.length - 1;
    rackOpen = false;
    changed();
    stage.querySelector(".open-pass")?.scrollIntoView({ block: "start" });
  }

  const closedPass = ({ round, given, blind, received }, index) => html`
    <li class="closed-pass">
      <strong>${capital(roundWords(round))}</strong>
      ${tiles(given, "small", blind)} <span aria-hidden="true">→</span>
      ${received.length || !given.length ? tiles(received) : html`<span class="hint">not known</span>`}
      ${button("Change", () => ((at = index), draw()), { kind: "small", name: `Change ${roundWords(round)}` })}
      ${faultList(faultsAt(`exchanges/${index}`))}
    </li>
  `;

  function openPass(pass, index) {
    const held = rackBefore(record, index);
    const last = index === record.passes.length - 1;
    const set = (part) => (Object.assign(pass, part), changed());
    const began = pass.given.length > 0 || pass.blind > 0;
    const time = secondsOf(pass.time);
    // What cannot be told yet is no fault yet.
    const told =
      isWhole(record, index) || !last ? faultsAt(`exchanges/${index}`) : faultsAt(`exchanges/${index}/round`);
    return html`<li class="open-pass">
      <div class="pair">
        ${select(
          "Round",
          [...EXCHANGES, COURTESY].map((round) => [round, capital(roundWords(round))]),
          pass.round,
          (round) => set({ round, blind: allowsBlind(round) ? pass.blind : 0 }),
        )}
        ${input("Time, if you took it", pass.time, (typedTime) => set({ time: typedTime }), {
          placeholder: "0:44",
          kind: "mono",
          faults: time === undefined ? ["Write minutes and seconds: 0:44"] : [],
        })}
      </div>
      <p class="step-name">What you passed: tap it on the rack</p>
      ${heldTiles(held, pass.given, (given) => set({ given, received: pass.received.slice(0, given.length) }))}
      ${
        allowsBlind(pass.round)
          ? chips(
              "Passed on unseen",
              [0, 1, 2, 3].map((count) => [count, count ? `${count} blind` : "none blind"]),
              pass.blind,
              (blind) => set({ blind }),
            )
          : nothing
      }
      <p class="hint" role="status">${began ? givenFaults(record, index).join(" ") : ""}</p>
      ${
        pass.given.length
          ? html`
              <p class="step-name">What came in${last ? " (leave it empty if you do not know it)" : ""}</p>
              <div class="tray came-in" role="group" aria-label="What came in">
                ${pass.received.map(
                  (token, place) =>
                    html`<button
                      type="button"
                      class="held"
                      aria-label="Take off ${tileWords(token)}"
                      @click=${() => set({ received: pass.received.toSpliced(place, 1) })}
                    >
                      ${tile(token)}
                    </button>`,
                )}
                ${Array.from(
                  { length: Math.max(0, pass.given.length - pass.received.length) },
                  () => html`<span class="slot" aria-hidden="true"></span>`,
                )}
              </div>
              ${
                pass.received.length < pass.given.length
                  ? kinds("What came in", [...without(held, pass.given), ...pass.received], (token) =>
                      set({ received: [...pass.received, token] }),
                    )
                  : nothing
              }
            `
          : nothing
      }
      ${faultList(told)}
      <div class="buttons">
        ${button("Remove this pass", () => {
          record.passes.splice(index, 1);
          at = null;
          changed();
        })}
      </div>
    </li>`;
  }

  /** The rack, to choose from. */
  function heldTiles(held, given, choose) {
    const left = [...given];
    const picked = held.map((token) => {
      const place = left.indexOf(token);
      if (place >= 0) left.splice(place, 1);
      return place >= 0;
    });
    const tap = (token, on) => {
      if (on) choose(without(given, [token]));
      else if (token === JOKER) notice.say("A joker may never be passed.");
      else if (given.length === PASS_SIZE) notice.say("Three are chosen: take one back first.");
      else choose([...given, token]);
    };
    return html`<div class="tray" role="group" aria-label="The rack at this pass">
      ${held.map(
        (token, place) =>
          html`<button
            type="button"
            class="held ${picked[place] ? "picked" : ""}"
            aria-pressed=${String(picked[place])}
            aria-label="Pass ${tileWords(token)}"
            @click=${() => tap(token, picked[place])}
          >
            ${tile(token)}
          </button>`,
      )}
    </div>`;
  }

  rack.value = record.rack;
  return { element, title: "Review", open: () => checkSoon() };
}
