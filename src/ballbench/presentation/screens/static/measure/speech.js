/** What is said aloud: "seven, seam, forty point two seven". Absent voices are no fault. */

const ONES = [
  "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
  "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
];
const TENS = ["", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"];

/** A whole number below a million in words. @param {number} n */
export function wholeWords(n) {
  if (n < 20) {
    return ONES[n];
  }
  if (n < 100) {
    return [TENS[Math.floor(n / 10)], n % 10 ? ONES[n % 10] : ""].filter(Boolean).join(" ");
  }
  const [size, name] = n < 1000 ? [100, "hundred"] : [1000, "thousand"];
  const rest = n % size ? `${n % size < 100 ? "and " : ""}${wholeWords(n % size)}` : "";
  return [wholeWords(Math.floor(n / size)), name, rest].filter(Boolean).join(" ");
}

/** A written number as it is read aloud, digit by digit behind the point; other text as it stands. */
export function numberWords(text) {
  const parts = /^([+-]?)(\d{1,6})(?:[.,](\d+))?$/.exec(text.trim().replace("\u2212", "-"));
  if (!parts) {
    return text;
  }
  const [, sign, whole, decimals] = parts;
  const said = [sign === "-" ? "minus" : "", wholeWords(Number(whole))];
  if (decimals) {
    said.push("point", ...[...decimals].map((digit) => ONES[Number(digit)]));
  }
  return said.filter(Boolean).join(" ");
}

/**
 * A reading as it is said.
 * @param {string} piece "07", "steel ball"
 * @param {string} what axis or quantity; may be empty
 * @param {string} text as read; empty: not to be said
 */
export const readingAloud = (piece, what, text) =>
  [numberWords(piece), what, text ? numberWords(text) : "kept"].filter(Boolean).join(", ");

/** Say something now; what was being said gives way. @param {string} words */
export function speak(words) {
  const voice = globalThis.speechSynthesis;
  if (!voice || !globalThis.SpeechSynthesisUtterance) {
    return;
  }
  try {
    voice.cancel();
    const saying = new SpeechSynthesisUtterance(words);
    saying.lang = "en";
    saying.rate = 1.15; // brisk, so that it ends before the next ball is in the jaws (own choice)
    voice.speak(saying);
  } catch {
    return; // a browser without a voice
  }
}
