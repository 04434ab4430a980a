/** Everything that a person does here, as entries for the queue. Pure but for the clock and chance passed in. */

import { stands } from "./bench.js";
import { waitingReadings } from "./view.js";

/** A moment with this device's own zone, ISO 8601. @param {Date} date */
export function moment(date) {
  const minutes = -date.getTimezoneOffset();
  const two = (n) => String(Math.floor(Math.abs(n))).padStart(2, "0");
  const zone = `${minutes < 0 ? "-" : "+"}${two(minutes / 60)}:${two(minutes % 60)}`;
  const local = new Date(date.getTime() + minutes * 60e3);
  return local.toISOString().replace("Z", zone);
}

/**
 * @typedef {object} Hand who acts, and in which test
 * @property {number} test
 * @property {string} client
 * @property {string} by
 * @property {?string} notebook that is open
 * @property {() => string} key a new one each time
 * @property {() => Date} now
 */

/**
 * Make an entry for the queue.
 * @param {Hand} hand
 * @param {import("./records.js").Entry[]} entries what waits already
 * @param {string} act
 * @param {object} body
 * @param {{of?: ?string, state?: "waiting"|"held", piece?: boolean}} [more]
 * @returns {import("./records.js").Entry}
 */
export function entryFor(hand, entries, act, body, { of = null, state = "waiting", piece = false } = {}) {
  const key = hand.key();
  const { test, client, by, notebook } = hand;
  const seq = entries.reduce((last, entry) => Math.max(last, entry.seq), 0) + 1;
  const sent = { key, client, by, at: moment(hand.now()), ...body };
  return { key, seq, test, notebook, act, body: sent, of, state, piece, faults: [] };
}

/**
 * What one's own last reading of this sitting is, that still stands: in the queue, or in the notebook.
 * @param {import("./view.js").View} view
 * @param {string} me
 * @returns {?{entry?: import("./records.js").Entry, reading?: import("./records.js").Reading}}
 */
export function lastOwn(view, me) {
  const entry = waitingReadings(view.entries)
    .filter(({ body }) => body.by === me)
    .at(-1);
  if (entry) {
    return { entry };
  }
  const reading = view.readings
    .filter((one) => one.by === me && one.sitting === view.bench.sitting?.id)
    .filter((one) => stands(one) && !view.goingBack.has(one.id))
    .at(-1);
  return reading ? { reading } : null;
}
