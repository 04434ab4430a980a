/** Which place is next: the order of the bench or of the paper sheet, without what is filled, waits or is held. */

/**
 * Whether a place is still to be read by somebody.
 * @param {import("./view.js").SeenPlace} place
 */
export const isLeft = (place) => !place.filled && !place.waiting;

/** Whether a place is the last check of its quantity: it says something of all that was read before it. */
const isEndCheck = (place) => place.reference !== null && place.axis === "end";

/**
 * Places in the order in which they are read; those put off come after the others, fewest times first. The check at
 * the end of a quantity comes behind all that is left of it, put off or asked for again, so that it is read once.
 * @param {import("./view.js").SeenPlace[]} places
 * @param {"bench"|"paper"} kind of the sitting
 * @param {import("./view.js").SeenPlace[]} all of the test, among them those that cannot be read here now
 * @returns {import("./view.js").SeenPlace[]}
 */
export function inOrder(places, kind, all = places) {
  const rank = kind === "paper" ? (place) => place.sheet_order : (place) => place.order;
  const own = (place) => [place.put_off, rank(place), 0, rank(place)];
  const last = lastOfQuantities(all, own);
  const turns = new Map(
    places.map((place) => {
      const behind = isEndCheck(place) ? last.get(place.quantity) : undefined;
      return [place.id, behind && isBefore(own(place), behind) ? [behind[0], behind[1], 1, rank(place)] : own(place)];
    }),
  );
  return [...places].sort((one, other) => compared(turns.get(one.id), turns.get(other.id)));
}

/** Whose turn is first: fewer times put off, then the smaller rank, then the place before its check. */
function compared(one, other) {
  const at = one.findIndex((number, i) => number !== other[i]);
  return at < 0 ? 0 : one[at] - other[at];
}

const isBefore = (one, other) => compared(one, other) < 0;

/** The last turn of a ball that is left, by quantity. */
function lastOfQuantities(places, turnOf) {
  const last = new Map();
  for (const place of places.filter((one) => one.ball !== null && isLeft(one))) {
    const known = last.get(place.quantity);
    if (!known || isBefore(known, turnOf(place))) {
      last.set(place.quantity, turnOf(place));
    }
  }
  return last;
}

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
  return inOrder(open, view.sitting?.kind ?? "bench", view.places)[0]?.id ?? null;
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
