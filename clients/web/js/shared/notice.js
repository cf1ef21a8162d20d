/** Messages: what went wrong, what is not lost, and what to do. */

import { h, put } from "./dom.js";

const ADVICE = {
  gone: "Nothing you entered is lost. Start the server again (threepass serve), then try again.",
  busy: "Nothing you entered is lost. Too many questions are being answered; try again in a moment.",
  failed: "Nothing you entered is lost.",
  foreign: "Nothing you entered is lost. Another program may be answering at this address.",
};

/**
 * A place for messages, announced to screen readers.
 * `show(error, again)` tells of an error, `say(text)` of something less, `clear()` empties it.
 */
export function noticeArea() {
  const element = h("div", { role: "status", "aria-live": "polite", class: "notices" });
  return {
    element,
    clear: () => put(element),
    say: (text) => put(element, h("p", { class: "notice quiet" }, text)),
    show(error, again = null, faults = error.faults ?? []) {
      put(
        element,
        h(
          "div",
          { class: "notice bad", data: { kind: error.kind ?? "page" } },
          h("p", {}, h("strong", {}, error.message)),
          faults.length > 0 &&
            h(
              "ul",
              {},
              faults.map((fault) => h("li", {}, fault.detail ?? fault)),
            ),
          ADVICE[error.kind] && h("p", {}, ADVICE[error.kind]),
          again && h("button", { type: "button", on: { click: again } }, "Try again"),
        ),
      );
    },
  };
}
