/** What is true at this desk: the bench as the server told it, with what still waits here laid over it. */

import { stands } from "./bench.js";
import { inTurn } from "./queue.js";

/**
 * @typedef {import("./records.js").Place & {waiting: boolean, asked: boolean}} SeenPlace
 *
 * @typedef {object} View
 * @property {import("./bench.js").Bench} bench
 * @property {import("./records.js").BallTest} test
 * @property {Map<string, import("./records.js").PlannedQuantity>} quantities
 * @property {?import("./records.js").Sitting} sitting also one that was begun here and is not sent yet
 * @property {SeenPlace[]} places
 * @property {Map<number, SeenPlace>} placeById
 * @property {import("./records.js").Reading[]} readings in the order in which they came
 * @property {import("./records.js").Entry[]} entries the queue, in the order in which it is sent
 * @property {Set<number>} goingBack readings whose taking back waits here
 * @property {boolean} hidden a blind test or a repeat study under way: no number of a box is shown
 * @property {string[]} people who read in this test, in order of their first reading
 */

/**
 * Lay the queue over the bench.
 * @param {import("./bench.js").Bench} bench
 * @param {import("./records.js").Entry[]} queue in any order
 * @returns {View}
 */
export function viewOf(bench, queue) {
  const entries = inTurn(queue);
  const readings = [...bench.readings.values()].sort((one, other) => one.id - other.id);
  const goingBack = new Set([
    ...bodies(entries, "taken-back").map((body) => body.reading).filter(Boolean),
    ...readings.filter(toldBeforeTheReply(entries)).map((reading) => reading.id),
  ]);
  const standing = new Set(readings.filter((r) => stands(r) && !goingBack.has(r.id)).map((r) => r.place));
  const waiting = placesOf(waitingReadings(entries));
  const later = bodies(entries, "later").map((body) => body.place);
  const spoiled = bodies(entries, "spoiled").map((body) => body.place);
  const asked = new Set([...bench.questions.values()].map((question) => question.place));
  const places = [...bench.places.values()].map((place) => ({
    ...place,
    filled: standing.has(place.id),
    waiting: waiting.has(place.id),
    asked: asked.has(place.id),
    put_off: place.put_off + count(later, place.id),
    spoiled: place.spoiled + count(spoiled, place.id),
  }));
  return {
    bench,
    test: bench.test,
    quantities: new Map(bench.test.quantities.map((quantity) => [quantity.name, quantity])),
    sitting: sittingOf(bench, entries),
    places,
    placeById: new Map(places.map((place) => [place.id, place])),
    readings,
    entries,
    goingBack,
    hidden: (bench.test.blind || Boolean(bench.test.purpose)) && bench.test.stage !== "finished",
    people: [...new Set(readings.map((reading) => reading.by))],
  };
}

/**
 * Readings in the queue that nobody took back: sent or not, the server has not answered yet.
 * @param {import("./records.js").Entry[]} entries
 */
export function waitingReadings(entries) {
  const back = new Set(entries.filter((entry) => entry.act === "taken-back").map((entry) => entry.of));
  const confirmed = new Set(entries.filter((entry) => entry.act === "readings").map((entry) => entry.of));
  return entries.filter(
    (entry) =>
      entry.act === "readings" &&
      entry.state === "waiting" &&
      !back.has(entry.key) &&
      !back.has(entry.of) &&
      !confirmed.has(entry.key),
  );
}

/**
 * Which readings were taken back here while their own entry still waits for the server's reply: the stream of changes
 * may tell of a reading first, and the taking back does not know the reading's number before the reply.
 * @param {import("./records.js").Entry[]} entries
 */
function toldBeforeTheReply(entries) {
  const back = new Set(entries.filter((entry) => entry.act === "taken-back").map((entry) => entry.of));
  const taken = entries.filter(({ key, act }) => act === "readings" && back.has(key)).map(({ body }) => body);
  return ({ place, by, at }) =>
    taken.some((body) => body.place === place && body.by === by && Date.parse(body.at) === Date.parse(at));
}

/** @param {View} view @param {{ball: ?number, reference: ?number}} whose */
export const placesOfPiece = (view, whose) =>
  view.places.filter((place) => place.ball === whose.ball && place.reference === whose.reference);

/** Readings of a ball or piece that stand and are not being taken back. */
export const standingReadings = (view, whose) =>
  view.readings.filter(
    (reading) =>
      reading.ball === whose.ball &&
      reading.reference === whose.reference &&
      stands(reading) &&
      !view.goingBack.has(reading.id),
  );

const bodies = (entries, act) =>
  entries.filter((entry) => entry.act === act && entry.state === "waiting").map((entry) => entry.body);
const placesOf = (entries) => new Set(entries.map((entry) => entry.body.place));
const count = (list, id) => list.filter((one) => one === id).length;

/** The sitting that goes on once the queue is sent. */
function sittingOf(bench, entries) {
  let sitting = bench.sitting;
  for (const { act, body, state } of entries) {
    if (state === "waiting" && act === "sittings/end") {
      sitting = null;
    } else if (state === "waiting" && act === "sittings") {
      const { kind, by, at, air_c = null, ball_c = null } = body;
      sitting = { id: 0, label: body.label ?? "", kind, by: [by], begun: at, ended: null, air_c, ball_c };
    }
  }
  return sitting;
}
