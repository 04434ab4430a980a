/** The gate at this desk: it asks while no server can, in the server's words, and alters nothing. */

/**
 * A text as a number; null where it is none that can be told here, and the server decides.
 * @param {string} text
 * @returns {?number}
 */
export function plainNumber(text) {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/**
 * Whether a typed text is to be asked about before it waits here.
 * @param {string} text
 * @param {import("./records.js").PlannedQuantity} quantity
 */
export function isFar(text, quantity) {
  const value = plainNumber(text);
  if (quantity.yes_no || quantity.believable === null || value === null) {
    return false;
  }
  const [lowest, highest] = quantity.believable;
  return value < lowest || value > highest;
}

/** Whether two typed texts say the same. */
export function saySame(one, other) {
  const plain = (text) => text.trim().toLowerCase().replace(",", ".").replace(/\s+/g, " ");
  return plain(one) === plain(other);
}

/** Whether a question is who reads: it is another person's round of a repeat study. @param {string} why */
export const isForAnother = (why) => why.startsWith("this reading is for ");

/**
 * What is asked about an entry.
 * @param {string} text as typed, with its unit
 * @param {string} why the server's words; empty: asked here
 * @param {boolean} piece true: a reference piece was read
 */
export function questionWords(text, why, piece) {
  if (why.includes("twice") || isForAnother(why)) {
    return `${text}: ${why}`;
  }
  return `${text} is far from ${piece ? "this piece" : "this box"}. Look again.`;
}

/**
 * The server's own words about an entry, where they add to the question; never in a blind test.
 * @param {string} why
 * @param {boolean} hidden
 */
export function moreWords(why, hidden) {
  const says = why && !isForAnother(why) && !/^far from[^,]*$|twice|look again/.test(why);
  const end = /[.?!]$/.test(why) ? "" : ".";
  return says && !hidden ? `${why.charAt(0).toUpperCase()}${why.slice(1)}${end}` : "";
}
