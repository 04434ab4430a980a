/** How places, readings and counts are named in words. */

const PREPOSITIONS = new Map([
  ["seam", "along the seam"],
  ["across", "across the seam"],
  ["pole", "pole to pole"],
]);

/** The words of an axis: the trade's own get theirs, any other stands as it was named. */
export const axisWords = (axis) => PREPOSITIONS.get(axis.trim().toLowerCase()) ?? axis;

/** @param {number} n @param {string} one @param {string} [several] */
export const plural = (n, one, several = `${one}s`) => `${n} ${n === 1 ? one : several}`;

/** A unit as it is printed behind a number. */
export const unitWords = (unit) => (unit === "1" || unit === "" ? "" : unit);

/** A number with its unit, kept on one line. */
export const withUnit = (text, unit) => (unitWords(unit) ? `${text}\u00a0${unitWords(unit)}` : text);

const capital = (text) => text.charAt(0).toUpperCase() + text.slice(1);

/**
 * Whose place it is: "Ball 07", "Steel ball".
 * @param {import("./view.js").View} view
 * @param {{ball: ?number, reference: ?number}} place
 */
export function pieceWords(view, place) {
  if (place.ball !== null) {
    return `Ball ${view.bench.balls.get(place.ball)?.number ?? "?"}`;
  }
  return capital(view.bench.references.get(place.reference)?.name ?? "reference piece");
}

/** The same, short: "07", "steel ball". */
export function pieceShort(view, place) {
  return place.ball !== null
    ? (view.bench.balls.get(place.ball)?.number ?? "?")
    : (view.bench.references.get(place.reference)?.name ?? "reference piece");
}

/**
 * Where to measure now, in parts: "Ball 07", "across the seam", "axis 2 of 3".
 * @param {import("./view.js").View} view
 * @param {import("./records.js").Place} place
 * @returns {string[]}
 */
export function placeParts(view, place) {
  const quantity = view.quantities.get(place.quantity);
  const words = quantity?.words ?? place.quantity;
  if (place.reference !== null) {
    return [pieceWords(view, place), words, place.axis ? `instrument check, ${place.axis}` : "instrument check"];
  }
  const axes = (quantity?.axes ?? [""]).filter(Boolean);
  const several = view.quantities.size > 1 || !place.axis;
  const parts = [pieceWords(view, place), [several ? words : "", axisWords(place.axis)].filter(Boolean).join(" ")];
  if (axes.length > 1 && axes.includes(place.axis)) {
    parts.push(`axis ${axes.indexOf(place.axis) + 1} of ${axes.length}`);
  }
  const repeats = quantity?.repeats ?? 1;
  if (place.why) {
    parts.push("once more");
  } else if (repeats > 1) {
    parts.push(`repeat ${place.repeat} of ${repeats}`);
  }
  if (place.person) {
    parts.push(`for ${place.person}`);
  }
  return parts;
}

/**
 * A place named short, as in the line of last readings: "07 seam", "11 mass", "steel ball".
 * @param {import("./view.js").View} view
 * @param {{ball: ?number, reference: ?number, quantity: string, axis: string}} place
 */
export function placeShort(view, place) {
  if (place.reference !== null) {
    return pieceShort(view, place);
  }
  const what = place.axis || (view.quantities.size > 1 ? (view.quantities.get(place.quantity)?.words ?? "") : "");
  return [pieceShort(view, place), what].filter(Boolean).join(" ");
}

/** What a reading says: its text, and its unit where that is not the usual one. */
export function readingText(view, reading) {
  const usual = view.quantities.get(reading.quantity)?.unit ?? reading.unit;
  return reading.unit === usual ? reading.text : withUnit(reading.text, reading.unit);
}

/** Whether two names are one person's, as the server tells them. */
export const sameName = (one, other) => one.trim().toLowerCase() === other.trim().toLowerCase();

/** Initials that tell the people of a test apart: "E", or "El" beside "Em". */
export function initialsOf(name, people) {
  const letters = [...name.trim()];
  let length = 1;
  const clash = (n) => people.some((other) => other !== name && startOf(other, n) === startOf(name, n));
  while (length < 3 && length < letters.length && clash(length)) {
    length += 1;
  }
  return capital(startOf(name, length)) || "?";
}

const startOf = (name, length) => [...name.trim().toLowerCase()].slice(0, length).join("");
