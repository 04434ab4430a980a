/** What typing means: a number goes on, a lone sign acts. Pure; the field that is typed into is in entry_field.js. */

/**
 * @typedef {object} Stand how the entry stands
 * @property {boolean} choosing true: a reason for a spoiled attempt is being picked
 * @property {boolean} signed true: the quantity may be below zero, so that a first "-" begins a number
 * @property {number} reasons how many there are to pick from
 *
 * @typedef {object} Meaning
 * @property {"none"|"later"|"zeroed"|"choose"|"pick"} act
 * @property {string} text what stands in the entry now
 * @property {number} [reason] which, from 0
 */

/**
 * Say what the text in the entry means now that something was typed.
 * @param {string} text
 * @param {Stand} stand
 * @returns {Meaning}
 */
export function meaningOf(text, stand) {
  if (stand.choosing) {
    return picking(text, stand);
  }
  if (text === "/" || text === "*") {
    return { act: text === "/" ? "later" : "zeroed", text: "" };
  }
  if (text === (stand.signed ? "--" : "-")) {
    return { act: "choose", text: "" };
  }
  return { act: "none", text };
}

/** A digit picks a reason; anything else shows that the "-" was the sign of a number that an instrument types. */
function picking(text, { reasons }) {
  if (/^[1-9]$/.test(text)) {
    const reason = Number(text) - 1;
    return reason < reasons ? { act: "pick", text: "", reason } : { act: "choose", text: "" };
  }
  return text === "" ? { act: "choose", text } : { act: "none", text: `-${text}` };
}

/**
 * Say what a key does that types nothing.
 * @param {string} key as the browser names it
 * @param {boolean} shift
 * @param {boolean} empty true: nothing stands in the entry
 * @returns {"keep"|"take back"|"leave"|"nothing"|"none"} none: the key keeps its usual meaning
 */
export function meaningOfKey(key, shift, empty) {
  if (key === "Enter") {
    return empty ? "nothing" : "keep";
  }
  if (key === "Tab") {
    return empty || shift ? "none" : "keep";
  }
  if (key === "Escape") {
    return "leave";
  }
  return key === "Backspace" && empty ? "take back" : "none";
}
