/** Making elements and drawings; every text goes in as text, never as markup. */

const SVG = "http://www.w3.org/2000/svg";

/**
 * Make an element of the page.
 * @param {string} name
 * @param {Object<string, string|number|boolean|null>} [attributes] null and false are left out, true stands alone
 * @param {...(Node|string)} children
 */
export function make(name, attributes = {}, ...children) {
  return filled(document.createElement(name), attributes, children);
}

/** Make an element of a drawing. */
export function draw(name, attributes = {}, ...children) {
  return filled(document.createElementNS(SVG, name), attributes, children);
}

/**
 * Make a button.
 * @param {string} words
 * @param {(event: Event) => void} act
 * @param {Object<string, string|number|boolean|null>} [attributes]
 */
export function button(words, act, attributes = {}) {
  const made = make("button", { type: "button", ...attributes }, words);
  made.addEventListener("click", act);
  return made;
}

/** Set a text where it is another, so that a live region speaks changes alone. @param {Element} element */
export function write(element, text) {
  if (element.textContent !== text) {
    element.textContent = text;
  }
}

/** Set an attribute, or take it away with null. */
export function mark(element, name, value) {
  if (value === null || value === false) {
    element.removeAttribute(name);
  } else if (element.getAttribute(name) !== String(value)) {
    element.setAttribute(name, value === true ? "" : String(value));
  }
}

function filled(element, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) {
    mark(element, name, value);
  }
  element.append(...children);
  return element;
}
