/** The page: its views and the way between them, and its theme. */

import { askView } from "./ask/view.js";
import { load } from "./cards/shelf.js";
import { cardsView } from "./cards/view.js";
import { practiceView } from "./practice/view.js";
import { reviewsView } from "./review/view.js";
import { h, put } from "./shared/page.js";
import { sheetsView } from "./sheets/view.js";

const THEME = "threepass.theme";
// Links of another spelling still open.
const ALIASES = { practise: "practice" };

const main = document.getElementById("main");
const views = {
  ask: askView(),
  practice: practiceView(),
  review: reviewsView(),
  cards: cardsView(),
  sheets: sheetsView(),
};
let current = null;

function go() {
  const written = location.hash.match(/^#\/(\w+)/)?.[1] ?? "";
  const name = Object.hasOwn(ALIASES, written) ? ALIASES[written] : written;
  const chosen = Object.hasOwn(views, name) ? name : "ask";
  for (const [each, view] of Object.entries(views)) view.element.hidden = each !== chosen;
  // Only the view that is looked at is a part of the page; the others wait as they are.
  if (current !== chosen) put(main, views[chosen].element);
  for (const link of document.querySelectorAll("nav a")) {
    if (link.dataset.view === chosen) link.setAttribute("aria-current", "page");
    else link.removeAttribute("aria-current");
  }
  document.title = `${views[chosen].title} · threepass`;
  // After the first time the reader is taken to the view that was asked for.
  if (current !== null && current !== chosen) main.focus({ preventScroll: false });
  if (current !== chosen) views[current]?.leave?.();
  current = chosen;
  views[chosen].open(location.hash);
}

/** Return the switch between the system's theme, light and dark. */
function themeSwitch() {
  const select = h(
    "select",
    { "aria-label": "Theme", on: { change: () => choose(select.value) } },
    h("option", { value: "" }, "System"),
    h("option", { value: "light" }, "Light"),
    h("option", { value: "dark" }, "Dark"),
  );
  select.value = document.documentElement.dataset.theme ?? "";
  return select;
}

function choose(theme) {
  if (theme) document.documentElement.dataset.theme = theme;
  else delete document.documentElement.dataset.theme;
  try {
    if (theme) localStorage.setItem(THEME, theme);
    else localStorage.removeItem(THEME);
  } catch {
    // It holds until the page is left.
  }
}

document.getElementById("theme").append(themeSwitch());
document.getElementById("skip").addEventListener("click", (event) => {
  // The fragment belongs to the views, so the link may not change it.
  event.preventDefault();
  main.focus();
});
load();
window.addEventListener("hashchange", go);
go();
