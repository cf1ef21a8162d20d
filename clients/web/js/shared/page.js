/** Elements, never made from text that could be markup, and what the browser keeps of a visit. */

const SVG = "http://www.w3.org/2000/svg";

/**
 * Make an element.
 * @param {string} tag
 * @param {Object} properties Attributes; `on` holds listeners, `data` data attributes; null and false are left out.
 * @param {...(Node|string|null|false|Array)} children
 */
export function h(tag, properties = {}, ...children) {
  return filled(document.createElement(tag), properties, children);
}

/** Make an element of SVG. */
export function s(tag, properties = {}, ...children) {
  return filled(document.createElementNS(SVG, tag), properties, children);
}

/** Replace what an element holds. */
export function put(element, ...children) {
  element.replaceChildren(...nodes(children));
  return element;
}

/** Text for screen readers only. */
export const hidden = (...children) => h("span", { class: "sr" }, ...children);

let made = 0;

/** A new id for an element of this page. */
export const newId = (stem) => `${stem}-${++made}`;

/** Wait for no more calls within so many milliseconds, then do it. */
export function later(milliseconds, act) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = setTimeout(act, milliseconds);
  };
}

/** Save a file as the browser does it. */
export function saveFile(blob, name) {
  const address = URL.createObjectURL(blob);
  h("a", { href: address, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(address), 10_000);
}

function filled(element, { on = {}, data = {}, ...attributes }, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined && value !== false) {
      element.setAttribute(name, value === true ? "" : value);
    }
  }
  for (const [name, listener] of Object.entries(on)) element.addEventListener(name, listener);
  Object.assign(element.dataset, data);
  element.append(...nodes(children));
  return element;
}

function nodes(children) {
  return children.flat(Infinity).filter((child) => child !== null && child !== undefined && child !== false);
}

const PREFIX = "threepass.";

/** Return what the browser keeps under a name, or null where it keeps nothing that can be read. */
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
