/** What the tray shows: every ball and reference piece, how far it is read, and what is to be known of it. Pure. */

import { axisFills, isAcross, way } from "./axes.js";
import { initialsOf, pieceShort, pieceWords, plural, readingText } from "./words.js";
import { placesOfPiece, standingReadings } from "./view.js";

/**
 * @typedef {object} TrayPiece
 * @property {string} id
 * @property {?number} ball
 * @property {?number} reference
 * @property {string} label what is printed on it
 * @property {"empty"|"part"|"full"} state
 * @property {number} share of its places that are read or wait here, 0 to 1
 * @property {import("./axes.js").AxisFill[]} axes of the quantity in hand
 * @property {boolean} across its axes are lines across the ball; otherwise it has one place, drawn below the number
 * @property {("read"|"failed"|"open")[]} checks of a reference piece, in order
 * @property {boolean} current
 * @property {boolean} waiting
 * @property {""|"asked"|"again"|"doubt"|"later"} flag
 * @property {string} holder initials of who holds one of its places
 * @property {string} words for those who do not see it
 * @property {string} detail its readings and facts, shown when it is pointed at
 */

/**
 * Everything in the tray, balls first.
 * @param {import("./view.js").View} view
 * @param {Map<number, {by: string}>} held
 * @param {?import("./view.js").SeenPlace} hand the place in hand
 * @returns {TrayPiece[]}
 */
export function trayOf(view, held, hand) {
  const quantity = view.quantities.get(hand?.quantity ?? "") ?? view.test.quantities[0];
  const order = new Map(view.test.quantities.map((one, i) => [one.name, i]));
  const balls = [...view.bench.balls.values()].map((ball) => ({ ball: ball.id, reference: null }));
  const pieces = [...view.bench.references.values()].map((piece) => ({ ball: null, reference: piece.id }));
  return [...balls, ...pieces].map((whose) => pieceOf(view, held, hand, whose, quantity, order));
}

function pieceOf(view, held, hand, whose, quantity, order) {
  const places = placesOfPiece(view, whose);
  const done = places.filter((place) => place.filled || place.waiting).length;
  const holder = places.map((place) => held.get(place.id)?.by).find(Boolean);
  const flag = flagOf(view, places, whose);
  const current = hand !== null && hand.ball === whose.ball && hand.reference === whose.reference;
  const state = done === 0 ? "empty" : done < places.length ? "part" : "full";
  const notes = notesOf({ state, done, planned: places.length, flag, holder, current });
  const facts = factsOf(view, whose, order);
  const names = [...view.bench.references.values()].map((piece) => piece.name);
  return {
    id: whose.ball === null ? `r${whose.reference}` : `b${whose.ball}`,
    ...whose,
    label: whose.ball === null ? initialsOf(pieceShort(view, whose), names) : pieceShort(view, whose),
    state,
    share: places.length > 0 ? done / places.length : 0,
    axes: whose.ball === null ? [] : axisFills(view, quantity, whose.ball),
    across: isAcross(way(quantity)),
    checks: whose.ball === null ? checksOf(view, places) : [],
    current,
    waiting: places.some((place) => place.waiting && !place.filled),
    flag,
    holder: holder ? initialsOf(holder, view.people) : "",
    words: [`${pieceWords(view, whose)}: ${notes}`, facts].filter(Boolean).join(". "),
    detail: [`${pieceWords(view, whose)} · ${notes}`, facts].filter(Boolean).join("\n"),
  };
}

/** The one thing to know of a piece, the most pressing first. */
function flagOf(view, places, whose) {
  if (places.some((place) => place.asked && !place.filled)) {
    return "asked";
  }
  if (places.some((place) => place.why && !place.filled && !place.waiting)) {
    return "again";
  }
  if (standingReadings(view, whose).some((reading) => reading.touched)) {
    return "doubt";
  }
  return places.some((place) => place.put_off > 0 && !place.filled && !place.waiting) ? "later" : "";
}

const FLAGS = {
  asked: "an entry was asked about",
  again: "to be read once more",
  doubt: "in doubt after a failed instrument check",
  later: "put off",
};

function notesOf({ state, done, planned, flag, holder, current }) {
  const read = state === "full" ? `all ${planned} read` : `${done} of ${planned} read`;
  return [read, current ? "in hand" : "", FLAGS[flag] ?? "", holder ? `with ${holder}` : ""].filter(Boolean).join(", ");
}

/** Its readings, its impacts and its conditioning; of a ball no number in a blind test. */
function factsOf(view, whose, order) {
  const readings = standingReadings(view, whose);
  const shown = view.hidden && whose.ball !== null ? [] : byAxis(view, readings, order);
  const ball = view.bench.balls.get(whose.ball);
  const impacts = ball?.impacts === null ? "impacts not known" : ball?.impacts ? plural(ball.impacts, "impact") : "";
  const made = [ball?.make, ball?.box].filter(Boolean).join(" ");
  return [made, ...shown, impacts, conditioning(ball)].filter(Boolean).join(" · ");
}

function byAxis(view, readings, order) {
  const groups = new Map();
  for (const reading of [...readings].sort((one, other) => order.get(one.quantity) - order.get(other.quantity))) {
    const name = reading.axis || (view.quantities.get(reading.quantity)?.words ?? reading.quantity);
    groups.set(name, [...(groups.get(name) ?? []), readingText(view, reading)]);
  }
  return [...groups].map(([name, texts]) => `${name} ${texts.join(", ")}`);
}

function conditioning(ball) {
  if (ball?.conditioned_h === null || ball?.conditioned_h === undefined) {
    return "";
  }
  return `conditioned ${Math.floor(ball.conditioned_h * 10) / 10} h`;
}

/** Every planned check of a reference piece: read, failed, or still open. */
function checksOf(view, places) {
  const failed = new Set(view.bench.checks.filter((check) => !check.passed).map((check) => check.reading));
  const outcome = (place) => {
    const last = view.readings.filter((reading) => reading.place === place.id).at(-1);
    return last && failed.has(last.id) ? "failed" : "read";
  };
  return places.map((place) => (place.filled || place.waiting ? outcome(place) : "open"));
}
