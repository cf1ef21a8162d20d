/** Building elements: never from text that could be markup. */

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
