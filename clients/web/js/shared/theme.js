/** The switch between the system's theme, light and dark. */

import { h } from "./dom.js";

const KEY = "threepass.theme";

/** Return the switch. */
export function themeSwitch() {
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
    if (theme) localStorage.setItem(KEY, theme);
    else localStorage.removeItem(KEY);
  } catch {
    // It holds until the page is left.
  }
}
