/** The page: its two views and the way between them. */

import { askView } from "./ask/view.js";
import { practiseView } from "./practise/view.js";
import { put } from "./shared/dom.js";
import { themeSwitch } from "./shared/theme.js";

const main = document.getElementById("main");
const views = { ask: askView(), practise: practiseView() };
let current = null;

function go() {
  const name = location.hash.match(/^#\/(\w+)/)?.[1];
  const chosen = Object.hasOwn(views, name ?? "") ? name : "ask";
  for (const [each, view] of Object.entries(views)) view.element.hidden = each !== chosen;
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

document.getElementById("theme").append(themeSwitch());
document.getElementById("skip").addEventListener("click", (event) => {
  // The fragment belongs to the views, so the link may not change it.
  event.preventDefault();
  main.focus();
});
put(
  main,
  Object.values(views).map((view) => view.element),
);
window.addEventListener("hashchange", go);
go();
