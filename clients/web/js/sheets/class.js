/** A class: logs of many pupils, compared where they passed the same racks. No file is kept. */

import { lapsIn } from "../practice/log.js";
import { h, put, saveFile } from "../shared/page.js";
import { choice, field, part, table } from "../shared/parts.js";
import { post } from "../shared/service.js";
import { counted } from "../shared/words.js";
import { tally } from "../tiles/kinds.js";
import { tileRow } from "../tiles/tile.js";

const MOST_BYTES = 20_000_000;
const MOST_SEEDS = 20;
const FILES = [
  ["html", "text/html", "Page to print"],
  ["csv", "text/csv", "Table, CSV"],
];

/** Return the fold; what goes on is told in an area for notices. */
export function classTable(notice) {
  const content = h("div", { class: "class-table" });
  let pupils = [];
  const chosen = field(
    "Logs of the pupils",
    h("input", { type: "file", multiple: true, accept: ".jsonl,.json,.txt", on: { change: take } }),
    "Files that Practice exports, each called by its pupil's name.",
  );
  const deals = field(
    "Deals",
    choice([["", "all"]], { on: { change: show } }),
    "Pupils who practice by the same link to a deal have the same racks.",
  );

  async function take() {
    try {
      pupils = await Promise.all([...chosen.control.files].map(read));
    } catch {
      notice.show(new Error("A file cannot be read."));
      return;
    }
    const seeds = tally(pupils.flatMap(({ laps }) => laps.map(({ lap }) => String(lap.entry.seed))));
    const offered = [...seeds].sort((one, other) => other[1] - one[1]).slice(0, MOST_SEEDS);
    put(
      deals.control,
      h("option", { value: "" }, "all"),
      offered.map(([seed, laps]) => h("option", { value: seed }, `seed ${seed} (${counted(laps, "line")})`)),
    );
    await show();
  }

  async function show() {
    put(content);
    if (!pupils.length) return;
    const now = pupils;
    const wanted = deals.control.value;
    const of = (laps) => laps.filter(({ lap }) => !wanted || String(lap.entry.seed) === wanted);
    // Files of one name are of one pupil.
    const asked = Object.create(null);
    for (const { name, laps } of pupils)
      (asked[name] ??= []).push(...of(laps).flatMap(({ lap }) => lap.facts));
    const faults = pupils.flatMap(({ name, laps, skipped }) => {
      const bare = of(laps).filter(({ lap }) => !lap.facts.length).length;
      return [
        ...skipped.map(({ number, why }) => `${name}: line ${number} is left out: ${why}`),
        ...(bare ? [`${name}: ${counted(bare, "lap")} without grades left out`] : []),
      ];
    });
    notice.say("Comparing the logs…");
    try {
      const answer = await post("v1/classes", { pupils: asked, files: true }, { waiting: notice.say });
      if (now !== pupils || wanted !== deals.control.value) return;
      if (faults.length) notice.show(new Error("Parts of the logs are left out."), null, faults);
      else notice.clear();
      put(content, drawn(answer));
    } catch (error) {
      notice.show(error, error.kind === "refused" ? null : show);
    }
  }

  return part("A class", "", chosen.element, deals.element, content);
}

/** A pupil's name and laps; `skipped` are lines that are none. */
async function read(file) {
  const name = file.name.replace(/\.[^.]*$/, "");
  if (file.size > MOST_BYTES) return { name, laps: [], skipped: [{ number: 1, why: "the file is too large" }] };
  return { name, ...lapsIn(await file.text()) };
}

function drawn(answer) {
  const { words, problems, pupils } = answer;
  return [
    h("p", {}, h("strong", {}, words.talk), words.not_counted && ` ${words.not_counted}`),
    h(
      "div",
      { class: "buttons" },
      FILES.map(([form, type, label]) =>
        h(
          "button",
          { type: "button", on: { click: () => saveFile(new Blob([answer[form]], { type }), `class.${form}`) } },
          label,
        ),
      ),
    ),
    table(
      "Pupils",
      ["Pupil", "Lost most on", "Lost", "Passes"],
      pupils.map(({ name, words: row }) => [name, row.worst, row.lost, row.passes]),
      [2, 3],
    ),
    problems.map(({ words: says, rack, made }) => [
      h("h3", {}, says.title),
      h("p", {}, tileRow(rack, "small wrap")),
      h("p", {}, `${says.lost}. Best: ${says.best}.`),
      table(
        says.title,
        ["Passed", "Pupils", "Lost"],
        made.map(({ words: row }) => [row.given, row.pupils, row.lost]),
        [2],
      ),
    ]),
  ];
}
