/** Which place is next: the order of the bench or of the paper sheet, without what is filled, waits or is held. */

/**
 * Places in the order in which they are read; those put off come after the others, fewest times first.
 * @template {import("./records.js").Place} P
 * @param {P[]} places
 * @param {"bench"|"paper"} kind of the sitting
 * @returns {P[]}
 */
export function inOrder(places, kind) {
  const rank = kind === "paper" ? (place) => place.sheet_order : (place) => place.order;
  return [...places].sort((one, other) => one.put_off - other.put_off || rank(one) - rank(other));
}

/**
 * Whether a place is still to be read by somebody.
 * @param {import("./view.js").SeenPlace} place
 */
export const isLeft = (place) => !place.filled && !place.waiting;

/**
 * Whether a place can be read here and now.
 * @param {import("./view.js").SeenPlace} place
 * @param {Map<number, {by: string}>} held places in other hands
 */
export const isOpen = (place, held) => isLeft(place) && !held.has(place.id);

const pieceOf = ({ ball, reference }) => (ball === null ? `r${reference}` : `b${ball}`);

/**
 * Who holds each ball or reference piece: who is at one of its places has it in the hand.
 * @param {import("./view.js").View} view
 * @param {Map<number, {by: string}>} held places in other hands
 * @returns {(place: import("./records.js").Place) => ({by: string}|undefined)} whose hand the piece of a place is in
 */
export function holders(view, held) {
  const known = [...held].filter(([id]) => view.placeById.has(id));
  const hands = new Map(known.map(([id, who]) => [pieceOf(view.placeById.get(id)), who]));
  return (place) => hands.get(pieceOf(place));
}

/**
 * The place to read now; never on a ball that is in another hand.
 * @param {import("./view.js").View} view
 * @param {Map<number, {by: string}>} held places in other hands
 * @param {?number} here the place in hand: it stays while it is open and was not put off
 * @param {number} [putOff] how often the place in hand had been put off when it was taken up
 * @returns {?number} null: nothing is left here
 */
export function nextPlace(view, held, here, putOff = 0) {
  const place = here === null ? undefined : view.placeById.get(here);
  if (place && isOpen(place, held) && place.put_off <= putOff) {
    return place.id;
  }
  const holder = holders(view, held);
  const open = view.places.filter((one) => isOpen(one, held) && !holder(one));
  return inOrder(open, view.sitting?.kind ?? "bench")[0]?.id ?? null;
}

/**
 * The next open place of one ball or reference piece.
 * @param {import("./view.js").View} view
 * @param {Map<number, {by: string}>} held
 * @param {{ball: ?number, reference: ?number}} whose
 * @param {string} [quantity] preferred where it has an open place there
 * @returns {?number}
 */
export function nextOf(view, held, whose, quantity = "") {
  const open = view.places.filter(
    (place) => place.ball === whose.ball && place.reference === whose.reference && isOpen(place, held),
  );
  const ordered = inOrder(open, view.sitting?.kind ?? "bench");
  return (ordered.find((place) => place.quantity === quantity) ?? ordered[0])?.id ?? null;
}
