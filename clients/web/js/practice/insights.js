/** Where one loses: passes of the log by what they have in common, in the service's words, with bars. */

import { h, put, s } from "../shared/page.js";
import { noticeArea, part, table } from "../shared/parts.js";
import * as log from "./log.js";
import { moreThan } from "./setup.js";

const [WIDE, HIGH] = [120, 14];

/**
 * Return the part of the view, and `show()`, which asks anew when the log has changed.
 * @param {(count: number) => void} due Told how many passes are due again.
 */
export function insights(due) {
  const notice = noticeArea();
  const content = h("div", {});
  const element = h("section", { class: "insights", hidden: true }, h("h3", {}, "Where you lose"), content);
  let shown = "";

  async function show() {
    const now = `${moreThan()} ${log.exported()}`;
    if (now === shown) return;
    shown = now;
    try {
      const told = await log.told(moreThan());
      if (now !== shown) return;
      due(told?.due.length ?? 0);
      element.hidden = !told;
      if (told) put(content, drawn(told));
    } catch (error) {
      shown = "";
      element.hidden = false;
      put(content, notice.element);
      notice.show(error, show);
    }
  }

  return { element, show };
}

function drawn({ words, groups }) {
  const most = Math.max(...groups.map(({ mean, interval }) => interval?.[1] ?? mean), 0.01);
  return [
    h("p", {}, words.where),
    h("p", {}, words.again),
    groups.length > 0 &&
      part(
        "By round, time, what was given and direction",
        "",
        table(
          "Loss a pass, by what passes have in common",
          ["Kind", "Lost", "Drawn", "95 % interval", "Passes", "Grouped"],
          groups.map((group) => [
            group.words.name,
            group.words.lost,
            bar(group, most),
            group.words.interval,
            group.words.passes,
            group.words.by,
          ]),
          [1, 3, 4],
        ),
      ),
  ];
}

/** The mean as a bar, its interval as a line across the end; nothing where there are too few passes. */
function bar({ mean, interval }, most) {
  if (!interval) return "";
  const x = (share) => (share / most) * (WIDE - 2);
  const middle = HIGH / 2;
  return s(
    "svg",
    { class: "loss", width: WIDE, height: HIGH, "aria-hidden": "true" },
    s("rect", { x: 0, y: 2, width: x(mean), height: HIGH - 4 }),
    s("line", { x1: x(interval[0]), x2: x(interval[1]), y1: middle, y2: middle }),
  );
}
