/** Practice: set up, play, be graded, and see how it goes. */

import { h, hidden, keep, kept, put } from "../shared/page.js";
import { key, keysPanel, noticeArea } from "../shared/parts.js";
import { reviewView, verdict } from "../review/graded.js";
import { COURTESY, PASS_SIZE, rulesPanel } from "../shared/rounds.js";
import { foreign } from "../shared/service.js";
import { Lap, RACK_SIZE, fetchDeal, fetchReview, now } from "./drill.js";
import { history } from "./history.js";
import * as log from "./log.js";
import { playTable } from "./play.js";
import { moreThan, setupForm } from "./setup.js";

const KEY = "lap";

/** Return the view: its element, `title`, `open()` and `leave()`. */
export function practiceView() {
  const notice = noticeArea();
  const voice = hidden();
  voice.setAttribute("role", "status");
  voice.setAttribute("aria-live", "polite");
  const stage = h("div", { class: "stage" });
  const setup = setupForm(deal, () => past.show());
  const past = history(showReview, setup.due);
  const element = h(
    "section",
    { class: "view practice", "aria-labelledby": "practice-title" },
    h("h1", { id: "practice-title" }, "Practice the Charleston"),
    voice,
    stage,
    notice.element,
    rulesPanel(),
    keys(),
    past.element,
  );
  let table = null;
  let wanted = null;
  let followed = null;

  function stand(...content) {
    put(stage, ...content);
    past.element.hidden = table !== null;
    if (!table) past.show();
  }

  function settle() {
    table = null;
    stand(setup.element);
  }

  async function deal(wish) {
    wanted = wish;
    notice.say("Dealing…");
    try {
      if (wish.kind === "again") return await playDue(wish);
      const { deal: found, tried, rounds } = await fetchDeal(wish, { waiting: notice.say });
      if (!found)
        return notice.show(
          new Error(`No ${wish.difficulty} deal among ${tried} tried: another seed or start may have one.`),
        );
      notice.clear();
      wanted = { ...wish, start: found.index + 1 };
      const { card, target, timed, kind } = wish;
      const seen = kind === "single" ? [] : null;
      const stands = kind === "table" ? { rounds, most: PASS_SIZE, words: {} } : null;
      play(new Lap({ deal: found, card, rounds, at: now(), target, timed, seen, table: stands }), {});
    } catch (error) {
      notice.show(error, error.kind === "refused" ? null : () => deal(wish));
    }
  }

  /** Play the pass that is due the longest. */
  async function playDue({ timed }) {
    const told = await log.told(moreThan(), { waiting: notice.say });
    if (!told?.due.length) {
      settle();
      return notice.say(told?.words.again ?? "No graded passes yet: play a lap or single passes first.");
    }
    notice.clear();
    const [{ lap, fact }] = told.due;
    const { seed, deal: index, card: name, record } = lap.entry;
    const dealt = { deal: { seed, index, rack: fact.rack, heap: [] }, rounds: [fact.round], at: now() };
    play(new Lap({ ...dealt, card: record.card, name, timed, seen: fact.seen, left: fact.left }), {});
  }

  function play(lap, state) {
    table = playTable(lap, state, {
      keep: (step) =>
        keep(KEY, { lap, ...step }) ||
        notice.show(new Error("The browser does not keep this lap: do not leave the page before its end.")),
      announce: (says) => (voice.textContent = says),
      over: (started) => (started ? finish(lap) : (keep(KEY, null), settle())),
    });
    keep(KEY, { lap, ...state });
    stand(table.element);
    // Who asks for a single pass wants to see it; one that was left waits behind its curtain.
    if (lap.single && !state.started) table.begin();
    else table.focus();
  }

  /** The lap goes into the log before anything is said of it. */
  function finish(lap) {
    if (lap.single && !lap.finished) {
      keep(KEY, null);
      return settle();
    }
    const line = lap.line(null);
    const safe = log.append(line);
    keep(KEY, null);
    table = null;
    notice.clear();
    if (!lap.finished) {
      notice.say("Stopped: the lap is not finished and counts in no average.");
      settle();
    } else grade(log.lapOf(JSON.stringify(line)), safe);
  }

  async function grade(lap, safe = true) {
    const title = h("h2", { tabindex: "-1" }, lap.single ? "The verdict" : "Review");
    const place = h("div", {}, h("p", { role: "status" }, "Grading…"));
    const problem = noticeArea();
    const again = h(
      "button",
      { type: "button", class: "primary", on: { click: () => (wanted ? deal(wanted) : settle()) } },
      wanted ? (lap.single ? "Next" : "Next deal") : "A new lap",
    );
    const other = wanted && h("button", { type: "button", on: { click: settle } }, "Other settings");
    stand(
      h(
        "section",
        { class: "panel graded-lap" },
        title,
        !safe &&
          h(
            "p",
            { class: "notice bad" },
            "The browser would not keep this lap: export the log before leaving the page.",
          ),
        h("div", { class: "buttons" }, again, other, !lap.single && dealLink(lap.entry)),
        problem.element,
        place,
      ),
    );
    title.focus();
    try {
      const graded = await fetchReview(lap.entry.record, { waiting: problem.say });
      // A number that this page cannot hold exactly is not written again.
      if ((lap.givenUp === null || !lap.facts.length) && Number.isSafeInteger(lap.entry.seed)) log.grade(lap.key, graded.review.kept);
      const means = log.meansOf(log.laps().filter((each) => each.finished && !each.single));
      const shown = lap.single ? verdict(graded, lap.entry.record) : reviewView(graded, lap.entry.record, means);
      problem.clear();
      put(place, shown);
    } catch (error) {
      put(
        place,
        h("p", {}, "The lap is in the log. It can be graded at any time, here or in the table below."),
      );
      problem.show(error.kind ? error : foreign());
      put(
        place,
        place.firstChild,
        h("button", { type: "button", on: { click: () => grade(lap) } }, "Grade now"),
      );
    }
    past.show();
  }

  function showReview(lap) {
    notice.clear();
    grade(lap).then(() => stage.scrollIntoView({ block: "start" }));
  }

  if (!resumed()) settle();

  /** Go on with a lap that an earlier visit left; return whether there is one. */
  function resumed() {
    const left = kept(KEY);
    try {
      const lap = new Lap(left.lap);
      if (lap.finished || lap.rack.length !== RACK_SIZE) return false;
      play(lap, { elapsed: left.elapsed, picks: left.picks, blind: left.blind, started: left.started });
    } catch {
      // Nothing is kept, or nothing that a lap can be made of.
      return false;
    }
    if (left.started) notice.say("A lap was under way: it is held, and goes on where it was.");
    return true;
  }

  return {
    element,
    title: "Practice",
    open(fragment) {
      if (table !== null) return;
      past.show();
      // A link to a deal is followed once.
      const query = new URLSearchParams(fragment.split("?")[1] ?? "");
      if (!query.has("seed") || fragment === followed) return;
      followed = fragment;
      setup.dealOf(query);
    },
    leave: () => table?.pause(),
  };
}

/** A link to a deal: whoever opens it plays the same tiles. */
function dealLink({ seed, deal, record, card }) {
  const courtesy = record.exchanges.at(-1)?.round === COURTESY;
  const query = new URLSearchParams({
    seed: String(seed),
    start: String(deal),
    ...(record.drill
      ? { rounds: String(record.exchanges.length - (courtesy ? 1 : 0)), ...(courtesy ? { courtesy: "1" } : {}) }
      : { table: "1" }),
    ...(typeof record.card === "string" ? { card } : {}),
  });
  return h("a", { class: "button", href: `#/practice?${query}` }, "Link to this deal");
}

const keys = () =>
  keysPanel(
    ["arrow keys, ", key("Home"), ", ", key("End"), ": from tile to tile"],
    [key("Space"), " or ", key("Enter"), ": choose a tile or take it back; ", key("Esc"), ": take all back"],
    [key("S"), " or ", key("Ctrl"), " + ", key("Enter"), ": pass what is chosen"],
    [key("B"), " and ", key("N"), ": one more blind, one fewer, where the round allows it"],
    [key("P"), ": pause; the rack is hidden and the clock is stopped"],
  );
