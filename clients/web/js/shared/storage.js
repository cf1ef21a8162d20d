/** The browser's own storage, where it may be missing, full, or hold what an older page wrote. */

const PREFIX = "threepass.";

/** Return what is kept under a name, or null. */
export function kept(name, store = "localStorage") {
  try {
    return JSON.parse(window[store].getItem(PREFIX + name));
  } catch {
    return null;
  }
}

/** Keep a value, or with null forget it; return whether that worked. */
export function keep(name, value, store = "localStorage") {
  try {
    if (value === null) window[store].removeItem(PREFIX + name);
    else window[store].setItem(PREFIX + name, JSON.stringify(value));
    return true;
  } catch {
    return false;
  }
}
