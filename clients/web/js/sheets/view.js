/** Problem sheets: racks dealt or typed, looked at and changed, then saved with their key to print or to reckon with. */

import { waiting } from "../ask/sharing.js";
import { cardChooser } from "../cards/chooser.js";
import { inFull, chosenId } from "../cards/shelf.js";
import {
  button,
  chips,
  faultList,
  html,
  input,
  lines,
  nothing,
  render,
  select,
  tiles,
} from "../shared/draw.js";
import { h, keep, kept, later, saveFile } from "../shared/page.js";
import { noticeArea } from "../shared/parts.js";
import { COURTESY, EXCHANGES, roundWords } from "../shared/rounds.js";
import { post, postForFile } from "../shared/service.js";
import { capital, counted } from "../shared/words.js";
import { readTiles } from "../tiles/kinds.js";
import { classTable } from "./class.js";
import { lesson, NO_LESSON } from "./lesson.js";

const KEY = "sheet";
const SEEDS = 1_000_000;
const MOST_TRIED = 200;
const FILES = [
  ["pdf", "problems", "Problems, PDF"],
  ["pdf", "key", "Key, PDF"],
  ["html", "problems", "Problems, web page"],
  ["html", "key", "Key, web page"],
  ["csv", "key", "Key, CSV"],
];
const FRESH = {
  own: false,
  racks: "",
  count: "12",
  difficulty: "any",
  family: "",
  jokers: "",
  seed: "",
  round: "first_right",
  title: "",
  group: "",
  date: "",
  paper: "letter",
  ...NO_LESSON,
};

/** Return the view: its element, `title`, and `open()`. */
export function sheetsView() {
  const wish = { ...FRESH, ...kept(KEY) };
  let sheet = null;
  let families = [];
  let hands = [];
  let faults = [];
  let typing = null;
  let showKey = false;
  const notice = noticeArea();
  const stage = h("div", {});
  const card = cardChooser(() => offer());
  const element = h(
    "section",
    { class: "view sheets", "aria-labelledby": "sheets-title" },
    h("h1", { id: "sheets-title" }, "Problem sheets"),
    h("p", { class: "lead" }, "Racks to choose a pass from, to print and to hand out, and the key to them."),
    stage,
    notice.element,
    classTable(notice),
  );
  const save = later(300, () => keep(KEY, wish));

  async function offer() {
    const id = chosenId();
    const full = await inFull(id).catch(() => null);
    // Another card was chosen meanwhile, and is offered by itself.
    if (id !== chosenId()) return;
    [families, hands] = [full?.families ?? [], (full?.hands ?? []).map(({ name }) => name)];
    const known = new Set(["", ...families, ...hands]);
    wish.near = wish.near.map(([name, away]) => [known.has(name) ? name : "", away]);
    if (!families.includes(wish.family)) wish.family = "";
    draw();
  }

  const set = (part) => {
    Object.assign(wish, part);
    save();
    draw();
  };

  /** What is asked of the service: of own racks, or for so many deals from one on. */
  function request(more = {}) {
    const common = { card: card.value, round: wish.round };
    if (wish.own) return { ...common, racks: typedRacks().map(([rack]) => rack), ...more };
    return {
      ...common,
      seed: Number(wish.seed),
      count: Number(wish.count),
      difficulty: wish.difficulty,
      budget: MOST_TRIED,
      ...(wish.family ? { family: wish.family } : {}),
      ...(wish.jokers === "" ? {} : { jokers: Number(wish.jokers) }),
      ...more,
    };
  }

  /** The racks that are typed, each with the number of its line; a heading `rack` and what follows `;` are no tiles. */
  const typedRacks = () =>
    wish.racks
      .split("\n")
      .map((line, at) => [line.split(";")[0].trim(), at + 1])
      .filter(([line]) => line && !/^"?racks?"?$/i.test(line));

  async function make() {
    if (!wish.own && wish.seed === "") set({ seed: String(Math.floor(Math.random() * SEEDS)) });
    notice.say("Making the sheet…");
    faults = [];
    try {
      ({ sheet } = await post("v1/sheets", request(), { waiting: notice.say }));
      notice.clear();
      if (!sheet.complete && !wish.own)
        notice.say(
          `Only ${counted(sheet.problems.length, "rack")} of that kind among ${sheet.tried} tried: another seed may have more.`,
        );
      draw();
      stage.querySelector(".made")?.scrollIntoView({ block: "start" });
    } catch (error) {
      faults = (error.faults ?? []).map(({ pointer, detail }) => {
        const [, at] = pointer.match(/^#\/racks\/(\d+)/) ?? [];
        return at === undefined ? detail : `line ${typedRacks()[at][1]}: ${detail}`;
      });
      notice.show(error, error.kind === "refused" ? null : make, []);
      draw();
    }
  }

  /** Put another rack in the place of one: the next deal of that kind, or one that is typed. */
  async function change(at, more) {
    notice.say("Changing the rack…");
    try {
      const { sheet: one } = await post("v1/sheets", more, { waiting: notice.say });
      if (!one.problems.length)
        throw Object.assign(new Error("No other rack of that kind was found."), { kind: "refused" });
      const number = sheet.problems[at].number;
      sheet = {
        ...sheet,
        problems: sheet.problems.with(at, { ...one.problems[0], number }),
        key: sheet.key.with(at, { ...one.key[0], number }),
      };
      typing = null;
      notice.clear();
    } catch (error) {
      notice.show(error);
    }
    draw();
  }

  const another = (at) =>
    change(at, request({ count: 1, start: 1 + Math.max(...sheet.problems.map(({ index }) => index ?? -1)) }));

  async function download(format, part) {
    notice.say("Making the file…");
    const heading = [wish.title, wish.group, wish.date].map((line) => line.trim()).filter(Boolean);
    try {
      const body = { sheet, format, part, paper: wish.paper, heading };
      const file = await postForFile("v1/sheets/pages", body, { waiting: notice.say });
      saveFile(file, `${(wish.title.trim() || "sheet").replace(/[^\p{L}\p{N} _-]/gu, "")} ${part}.${format}`);
      notice.say("Saved.");
    } catch (error) {
      notice.show(error);
    }
  }

  function copyLink(problem) {
    const { rack, round } = problem;
    waiting({ rack: rack.join(" "), round, card: card.value }).then((fragment) => {
      const link = new URL(fragment, location.href).href;
      navigator.clipboard?.writeText(link).then(
        () => notice.say("Copied: the link shows the problem, not its answer."),
        () => notice.say(link),
      ) ?? notice.say(link);
    });
  }

  /* Drawing. */

  function draw() {
    render(
      html`<div class="panel">${form()}</div>
        ${sheet ? made() : nothing}`,
      stage,
    );
  }

  const form = () => html`
    ${card.element}
    ${chips(
      "Racks",
      [
        [false, "Deal them"],
        [true, "Type them"],
      ],
      wish.own,
      (own) => set({ own }),
    )}
    ${wish.own ? typed() : dealt()}
    ${select(
      "Round",
      [...EXCHANGES, COURTESY].map((round) => [round, capital(roundWords(round))]),
      wish.round,
      (round) => set({ round }),
      "-sheet",
    )}
    <div class="triple">
      ${input("Title", wish.title, (title) => set({ title }), { maxlength: 60, unique: "-sheet" })}
      ${input("Class or group", wish.group, (group) => set({ group }), { maxlength: 60 })}
      ${input("Date", wish.date, (date) => set({ date }), { maxlength: 60 })}
    </div>
    ${faultList(faults)}
    <div class="buttons main-action">
      ${button(sheet ? "Make it again" : "Make the sheet", make, { kind: "primary" })}
    </div>
  `;

  const dealt = () => html`
    <div class="triple">
      ${input("How many", wish.count, (count) => set({ count }), { type: "number", min: 1, max: 50 })}
      ${select(
        "Difficulty",
        [
          ["any", "any"],
          ["clear", "clear: one pass stands out"],
          ["close", "close: several are nearly as good"],
        ],
        wish.difficulty,
        (difficulty) => set({ difficulty }),
      )}
      ${select("Family of the likeliest hand", [["", "any"], ...families.map((name) => [name, name])], wish.family, (family) => set({ family }))}
      ${select("Jokers", [["", "any number"], ...[0, 1, 2, 3, 4].map((count) => [String(count), String(count)])], wish.jokers, (jokers) => set({ jokers }))}
      ${input("Seed", wish.seed, (seed) => set({ seed: seed.replace(/\D/g, "").slice(0, 15) }), { placeholder: "any", hint: "The same number gives the same racks.", unique: "-sheet" })}
    </div>
  `;

  const typed = () => html`
    ${lines("A rack a line", wish.racks, (racks) => set({ racks }), { id: "own-racks" })}
    ${lesson({ wish, set, card: card.value, hands, families, common: dealt(), notice })}
  `;

  const made = () => html`
    <div class="panel made">
      <h2>${wish.title.trim() || "The sheet"}</h2>
      <div class="buttons">
        ${FILES.map(([format, part, label]) => button(label, () => download(format, part)))}
      </div>
      ${select(
        "Paper",
        [
          ["letter", "US Letter"],
          ["a4", "A4"],
        ],
        wish.paper,
        (paper) => set({ paper }),
      )}
      ${button(showKey ? "Hide the key" : "Show the key", () => ((showKey = !showKey), draw()))}
      <ol class="problems">
        ${sheet.problems.map(problem)}
      </ol>
    </div>
  `;

  const problem = (each, at) => {
    const answer = sheet.key[at];
    return html`<li>
      <strong>${each.number}. ${capital(roundWords(each.round))}</strong> ${tiles(each.rack)}
      ${showKey && answer ? html`<p class="key-line">${tiles(answer.pass, "small", answer.blind)} ${answer.sentence}</p>` : nothing}
      <div class="buttons">
        ${sheet.seed === null ? nothing : button("Another rack", () => another(at), { kind: "small", name: `Another rack for ${each.number}` })}
        ${button("Type another", () => ((typing = { at, rack: each.rack.join(" ") }), draw()), { kind: "small", name: `Type another rack for ${each.number}` })}
        ${button("Link without the answer", () => copyLink(each), { kind: "small", name: `Link to ${each.number} without the answer` })}
      </div>
      ${
        typing?.at === at
          ? html`${input("The rack instead", typing.rack, (rack) => ((typing.rack = rack), draw()), { kind: "mono" })}
            ${button(
              "Take this rack",
              () => change(at, { card: card.value, round: each.round, racks: [typing.rack] }),
              {
                off: ![13, 14].includes(readTiles(typing.rack).tokens.length),
              },
            )}`
          : nothing
      }
    </li>`;
  };

  offer();
  return { element, title: "Sheets", open: draw };
}
