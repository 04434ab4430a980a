/** Numbers as people type them into a form. Readings are not read here: ballbench itself does that and asks. */

/**
 * Give the number of a text, null for an empty one, NaN for what is none or can be read in two ways. A single comma is
 * a decimal comma, but "1,000" might be a thousand.
 */
export function typedNumber(text) {
  const plain = text.trim().replace(/^\u2212/, "-");
  if (plain === "") return null;
  if (/^[+-]?[1-9]\d{0,2},\d{3}$/.test(plain)) return NaN;
  const pointed = plain.includes(".") ? plain : plain.replace(",", ".");
  return /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(pointed) ? Number(pointed) : NaN;
}

/** The fault of a field that was left empty and must not be. */
export function nothingThere(where) {
  return { where, found: "an empty field", allowed: "an entry; this field is needed", todo: "fill it in" };
}

/** The fault of a field that holds no number. */
export function noNumber(where, text) {
  return { where, found: `"${text.trim()}"`, allowed: "a number such as 0.01", todo: "write it with a decimal point" };
}
