/** Playing a lap: choose, pass, and again; hold the clock; go on after the page was left. */

import { h, put } from "../shared/page.js";
import { COURTESY, PASS_SIZE, allowsBlind, passFaults, placeWords, roundWords } from "../shared/rounds.js";
import { capital, clock, counted } from "../shared/words.js";
import { JOKER, allInWords, tileWords } from "../tiles/kinds.js";
import { back, face, tileRow } from "../tiles/tile.js";
import { cardBook } from "./card_book.js";
import { RACK_SIZE, Watch } from "./drill.js";

const TICK_MS = 100;
const KEEP_MS = 1000;
const MOVES = { ArrowRight: 1, ArrowLeft: -1, Home: -Infinity, End: Infinity };

/**
 * Return the table at which a lap is played.
 * @param {import("./drill.js").Lap} lap
 * @param {{elapsed?: number, picks?: number[], blind?: number, started?: boolean}} kept What an earlier visit left.
 * @param {{keep: (state: Object) => void, over: (started: boolean) => void, announce: (says: string) => void}} to
 *   `keep` is told of every step, `over` when the lap is finished, stopped, or not begun after all.
 */
export function playTable(lap, kept, to) {
  const watch = new Watch(kept.elapsed ?? 0);
  let picks = kept.picks ?? [];
  let blind = kept.blind ?? 0;
  let started = kept.started ?? false;
  let fresh = [];
  let over = false;
  let passing = false;

  const title = h("h2", { tabindex: "-1" });
  const time = h("span", {
    class: "clock",
    role: "timer",
    "aria-live": "off",
    "aria-label": "Time of this pass",
  });
  const total = h("span", { class: "lap-clock", "aria-label": "Time of the lap" });
  const runs = lap.timed ? " The clock runs." : "";
  const book = cardBook(lap.card, {
    opened: (pausing) => pausing && watch.running && (watch.hold(), save()),
    closed: () => started && controls.hidden === false && (watch.run(), board.focus(0)),
  });
  const board = rackBoard(pick);
  const came = h("p", { class: "came" });
  const tray = h("div", { class: "pass-tray", role: "group", "aria-label": "To pass" });
  const fault = h("p", { class: "pass-fault", role: "alert" });
  const send = h("button", { type: "button", class: "primary", on: { click: pass } });
  const stopButton = h("button", { type: "button", on: { click: stopSecond } }, "Stop the second Charleston");
  const pauseButton = h("button", { type: "button", on: { click: () => hold() } }, "Pause");
  const curtain = h("div", { class: "curtain" });
  const controls = h(
    "div",
    { class: "controls" },
    tray,
    fault,
    h("div", { class: "buttons" }, send, stopButton, pauseButton, book.button),
  );
  const element = h(
    "section",
    { class: "play panel", on: { keydown: key } },
    h("div", { class: "play-head" }, title, h("span", { class: "clocks", hidden: !lap.timed }, time, " ", !lap.single && total)),
    came,
    board.element,
    controls,
    curtain,
    book.element,
  );

  const ticking = setInterval(tick, TICK_MS);
  const keeping = setInterval(() => watch.running && save(), KEEP_MS);
  document.addEventListener("visibilitychange", away);
  window.addEventListener("pagehide", away);

  const save = () => !over && to.keep({ elapsed: watch.read(), picks, blind, started });

  function tick() {
    const now = watch.read();
    time.textContent = clock(now);
    total.textContent = lapWords(lap.seconds + now, lap.target);
  }

  function show() {
    const place = placeWords(lap.rounds, lap.exchanges.length);
    const of = lap.table ? "" : ` of ${lap.rounds.length}`;
    title.textContent = lap.single ? capital(place) : `Round ${lap.exchanges.length + 1}${of}: ${place}`;
    stopButton.hidden = !lap.mayStop;
    tick();
    const closed = !watch.running;
    for (const each of [controls, came]) each.hidden = closed;
    curtain.hidden = !closed;
    if (closed) {
      board.hide(RACK_SIZE);
      drawCurtain();
    } else {
      board.show(lap.rack, picks, fresh);
      drawTray();
    }
  }

  function drawCurtain() {
    const go = h(
      "button",
      { type: "button", class: "primary", on: { click: resume } },
      started ? "Go on" : lap.timed ? "Start the clock" : "Show the rack",
    );
    const stop = h(
      "button",
      { type: "button", on: { click: finish } },
      !started ? "Back" : lap.single ? "Stop" : "Stop the lap",
    );
    const what = lap.table ? "A table of careful players" : counted(lap.rounds.length, "round");
    const deal = `${what}, seed ${lap.deal.seed}, deal ${lap.deal.index}.`;
    const soon = lap.timed ? " The clock runs as soon as you see the rack." : "";
    const stands = lap.timed ? ` at ${clock(watch.read())} of this pass` : "";
    const says = started
      ? `Paused${stands}. The rack is hidden${lap.timed ? " and the clock is stopped" : ""}.`
      : deal + soon;
    put(
      curtain,
      h("p", {}, says),
      h("div", { class: "buttons" }, go, stop),
      started &&
        !lap.single &&
        h("p", { class: "hint" }, "A stopped lap is kept in the log, but counts in no average."),
    );
  }

  function drawTray() {
    const own = picks.map((at) => lap.rack[at]);
    const open = Math.max(0, PASS_SIZE - own.length - blind);
    put(
      tray,
      h("span", { class: "tray-name" }, "To pass"),
      h(
        "span",
        { class: "tray-tiles" },
        own.length > 0 && tileRow(own, "middle"),
        Array.from({ length: blind }, () => h("span", { class: "slot blind-slot" }, "blind")),
        Array.from({ length: open }, () => h("span", { class: "slot", "aria-hidden": "true" })),
      ),
      allowsBlind(lap.round) && blindStepper(),
    );
    const ready = passFaults(own, blind, lap.rack, lap.round).length === 0;
    send.setAttribute("aria-disabled", String(!ready));
    send.textContent = sendWords(own.length);
  }

  const sendWords = (own) => {
    if (lap.round === COURTESY) return own ? `Pass ${counted(own, "tile")}` : "Pass nothing";
    return blind ? `Pass ${own} and ${blind} blind` : `Pass ${own} of ${PASS_SIZE}`;
  };

  function blindStepper() {
    const step = (by, label) =>
      h(
        "button",
        { type: "button", class: "step", "aria-label": label, on: { click: () => setBlind(blind + by, by) } },
        by > 0 ? "+" : "−",
      );
    return h(
      "span",
      { class: "stepper", role: "group", "aria-label": "Blind" },
      step(-1, "One fewer blind"),
      h("span", { class: "stepper-value" }, `${blind} blind`),
      step(1, "One more blind"),
    );
  }

  function setBlind(wanted, by) {
    if (!allowsBlind(lap.round)) return tell(`${capital(roundWords(lap.round))} allows no blind pass.`);
    if (wanted < 0 || wanted > PASS_SIZE) return;
    if (picks.length + wanted > PASS_SIZE) return tell("Three are chosen already: take a tile back first.");
    blind = wanted;
    changed();
    tray.querySelectorAll(".step")[by > 0 ? 1 : 0]?.focus();
    to.announce(`${blind} blind`);
  }

  function pick(at) {
    if (picks.includes(at)) picks = picks.filter((each) => each !== at);
    else if (lap.rack[at] === JOKER) return tell("A joker may never be passed.");
    else if (picks.length + blind >= PASS_SIZE) return tell("Three are chosen already: take one back first.");
    else picks = [...picks, at];
    changed();
    if (picks.length + blind === PASS_SIZE)
      to.announce(
        `Chosen: ${allInWords(picks.map((each) => lap.rack[each]))}${blind ? ` and ${blind} blind` : ""}. S passes them.`,
      );
  }

  function changed() {
    tell("");
    board.show(lap.rack, picks, fresh);
    drawTray();
    save();
  }

  const tell = (says) => void (fault.textContent = says);

  function stopSecond() {
    lap.stop();
    [picks, blind] = [[], 0];
    save();
    show();
    board.focus(0);
    to.announce(`${title.textContent}.`);
  }

  async function pass() {
    const rack = lap.rack;
    const given = picks.map((at) => rack[at]);
    const faults = [...passFaults(given, blind, rack, lap.round), ...lap.tooMany(given.length)];
    if (faults.length) return tell(faults.join(" ") + runs);
    const went = `Passed ${allInWords(given)}${blind ? ` and ${blind} blind` : ""}`;
    const seconds = watch.read();
    if (passing) return;
    passing = true;
    watch.hold();
    let received;
    try {
      received = await lap.exchange(given, blind, seconds);
    } catch (error) {
      return tell(`${error.message} Try again.`);
    } finally {
      passing = false;
      watch.run();
    }
    watch.take();
    [picks, blind] = [[], 0];
    tell("");
    if (lap.finished) return finish();
    const told = lap.table?.words.table ? ` ${lap.table.words.table}` : "";
    const says = `${went}${lap.timed ? ` after ${clock(seconds)}` : ""}. Came in: ${allInWords(received)}.${told}`;
    fresh = positions(lap.rack, received);
    came.textContent = says;
    save();
    show();
    board.focus(fresh[0] ?? 0);
    to.announce(`${says} ${title.textContent}.`);
  }

  function hold() {
    watch.hold();
    save();
    show();
    curtain.querySelector("button").focus();
    to.announce("Paused. The rack is hidden.");
  }

  function resume() {
    started = true;
    watch.run();
    save();
    show();
    element.scrollIntoView({ block: "start" });
    board.focus(0);
    to.announce(`${title.textContent}.${runs}`);
  }

  /** Nobody chooses tiles while the page cannot be seen. */
  function away() {
    if (document.visibilityState === "hidden" && watch.running) hold();
    else save();
  }

  function key(event) {
    if (!watch.running || (event.altKey && !event.ctrlKey)) return;
    const commands = {
      s: pass,
      p: hold,
      b: () => setBlind(blind + 1, 1),
      n: () => setBlind(blind - 1, -1),
      escape: () => ((picks = []), (blind = 0), changed()),
    };
    const name = event.key.toLowerCase();
    if (event.ctrlKey || event.metaKey ? name === "enter" : name in commands) {
      event.preventDefault();
      (commands[name] ?? pass)();
    }
  }

  function finish() {
    over = true;
    leave();
    to.over(started);
  }

  function leave() {
    clearInterval(ticking);
    clearInterval(keeping);
    document.removeEventListener("visibilitychange", away);
    window.removeEventListener("pagehide", away);
  }

  show();
  return {
    element,
    focus: () => curtain.querySelector("button")?.focus(),
    begin: resume,
    /** Hold the clock when the view is left. */
    pause: () => watch.running && hold(),
  };
}

/** The time of the lap, and what is left to its target. */
function lapWords(seconds, target) {
  if (!target) return `lap ${clock(seconds)}`;
  const left = target - seconds;
  return `lap ${clock(seconds)}, ${left >= 0 ? `${clock(left)} left` : `${clock(-left)} over`}`;
}

/** Where tiles that came in stand on the rack: the last of each kind. */
function positions(rack, received) {
  const left = [...received];
  return rack
    .map((token, at) => [token, at])
    .reverse()
    .filter(([token]) => {
      const place = left.indexOf(token);
      if (place >= 0) left.splice(place, 1);
      return place >= 0;
    })
    .map(([, at]) => at)
    .reverse();
}

/**
 * Return the rack as tiles to choose from, by touch, pointer or keyboard.
 * @param {(at: number) => void} chosen Told of the tile that is tapped.
 */
function rackBoard(chosen) {
  const element = h("div", {
    class: "board",
    role: "group",
    "aria-label": "Your rack",
    on: { keydown: move },
  });
  let buttons = [];

  function move(event) {
    const at = buttons.indexOf(document.activeElement);
    if (at < 0 || event.ctrlKey || event.metaKey || event.altKey) return;
    let step = MOVES[event.key];
    // Up and down by a row, whatever number of tiles a row has at this width.
    if (event.key === "ArrowDown" || event.key === "ArrowUp")
      step = (event.key === "ArrowDown" ? 1 : -1) * perRow();
    if (step === undefined) return;
    event.preventDefault();
    focus(Math.min(buttons.length - 1, Math.max(0, at + step)));
  }

  function perRow() {
    const top = buttons[0].offsetTop;
    return buttons.filter((button) => button.offsetTop === top).length;
  }

  function focus(at) {
    buttons.forEach((button, each) => (button.tabIndex = each === at ? 0 : -1));
    buttons[at].focus();
  }

  return {
    element,
    focus,
    /** Show a rack: which positions are chosen, and which tiles have just come in. */
    show(rack, picks, fresh) {
      const had = buttons.indexOf(document.activeElement);
      const tab = Math.max(0, had);
      buttons = rack.map((token, at) => {
        const picked = picks.includes(at);
        const isNew = fresh.includes(at);
        return h(
          "button",
          {
            type: "button",
            class: `tile-button${picked ? " picked" : ""}${isNew ? " fresh" : ""}`,
            tabindex: at === tab ? "0" : "-1",
            "aria-pressed": String(picked),
            "aria-label": `${tileWords(token)}${isNew ? ", just came in" : ""}${token === JOKER ? ", may not be passed" : ""}`,
            data: { token },
            on: { click: () => chosen(at) },
          },
          face(token),
          h("span", { class: "flag", "aria-hidden": "true" }, picked ? "pass" : isNew ? "new" : ""),
        );
      });
      put(element, buttons);
      if (had >= 0) buttons[Math.min(had, buttons.length - 1)].focus();
    },
    /** Show backs only. */
    hide(count) {
      buttons = [];
      put(
        element,
        Array.from({ length: count }, () => h("span", { class: "tile-back" }, back())),
      );
    },
  };
}
