/** The rules of the queue: what is sent next, and what an answer does to what still waits. No storage, no network. */

/** @typedef {import("./records.js").Entry} Entry */

/**
 * Put entries in the order in which they are sent.
 * @param {Entry[]} entries
 */
export const inTurn = (entries) => [...entries].sort((one, other) => one.seq - other.seq);

const LONGEST_MS = 60e3; // no act rests longer, whatever a clock that was put back says (own choice)

/**
 * Whether the server could not keep an entry, and it is not tried again yet.
 * @param {Entry} entry
 * @param {number} now ms
 */
const rests = ({ trouble }, now) => Boolean(trouble) && trouble.until > now && trouble.until <= now + LONGEST_MS;

/** A reading of a ball may be sent before one of another place: nothing but its own place depends on it. */
const isApart = ({ act, piece }) => act === "readings" && !piece;

/**
 * The entry to send now: the first that waits, and whose answer to wait for is there. One that rests holds everything
 * behind it; a reading of a ball holds no other reading of another ball's place.
 * @param {Entry[]} entries
 * @param {number} now ms
 * @returns {?Entry}
 */
export function nextToSend(entries, now) {
  const keys = new Set(entries.map((entry) => entry.key));
  const resting = new Set();
  for (const entry of inTurn(entries).filter(({ state, of }) => state === "waiting" && !(of && keys.has(of)))) {
    const { place } = entry.body;
    if (resting.size > 0 && !isApart(entry)) {
      return null;
    }
    if (!rests(entry, now) && !resting.has(place)) {
      return entry;
    }
    if (!isApart(entry)) {
      return null;
    }
    resting.add(place);
  }
  return null;
}

/**
 * When the next of those that rest is to be tried again, ms; null: none rests.
 * @param {Entry[]} entries
 * @param {number} now ms
 */
export function nextTry(entries, now) {
  const times = entries.filter((entry) => entry.state === "waiting" && rests(entry, now));
  return times.length > 0 ? Math.min(...times.map(({ trouble }) => trouble.until)) : null;
}

/**
 * What becomes of an entry that the server could not keep: it stays, and is tried again with growing pauses.
 * @param {Entry} entry
 * @param {{status: number, title: string}} answer
 * @param {number} now ms
 * @param {number} chance 0 to 1
 * @returns {Entry}
 */
export function afterFailure(entry, { status, title }, now, chance) {
  const times = (entry.trouble?.times ?? 0) + 1;
  return { ...entry, trouble: { times, status, title, until: now + 1000 * pause(times, chance) } };
}

/** An entry with all that waits for its answer, however far. @param {Entry[]} entries @param {string} key */
export function withFollowers(entries, key) {
  const own = entries.filter((entry) => entry.key === key);
  const behind = entries.filter((entry) => entry.of === key);
  return [...own, ...behind.flatMap((entry) => withFollowers(entries, entry.key))];
}

/**
 * An entry, and what waits for it, set aside: kept here, and sent only when a person says so.
 * @param {Entry[]} entries
 * @param {string} key
 */
export const setAside = (entries, key) => withFollowers(entries, key).map((entry) => ({ ...entry, state: "aside" }));

/**
 * An entry, and what waits for it, to be sent at once.
 * @param {Entry[]} entries
 * @param {string} key
 */
export const toSendNow = (entries, key) =>
  withFollowers(entries, key).map((entry) => ({ ...entry, state: "waiting", faults: [], trouble: null }));

/**
 * What the server's reply does: the entry is done, and those that waited for it are completed or done too.
 * @param {Entry[]} entries
 * @param {Entry} sent
 * @param {object} reply
 * @returns {{gone: string[], changed: Entry[]}}
 */
export function afterReply(entries, sent, reply) {
  const gone = [sent.key];
  const changed = [];
  for (const entry of entries.filter((one) => one.of === sent.key)) {
    const ready = completed(entry, sent, reply);
    if (ready) {
      changed.push(ready);
    } else {
      gone.push(entry.key);
    }
  }
  return { gone, changed };
}

/** An entry that waited for the reply, as it is sent now; null: there is nothing left to send. */
function completed(entry, sent, reply) {
  if (entry.act === "taken-back") {
    const { reading } = reply;
    return reading ? { ...entry, of: null, body: { ...entry.body, reading: reading.id } } : null;
  }
  if (entry.act === "readings" && reply.status === "asked") {
    return { ...entry, of: null, body: { ...entry.body, confirms: sent.key } };
  }
  return null;
}

/**
 * What a refusal does: the entry stays to be answered by the person, unless it was taken back meanwhile.
 * @param {Entry[]} entries
 * @param {Entry} sent
 * @param {import("./records.js").Fault[]} faults
 * @param {number} status of the answer
 * @returns {{gone: string[], changed: Entry[]}}
 */
export function afterRefusal(entries, sent, faults, status) {
  const followers = entries.filter((entry) => entry.of === sent.key);
  const gone = followers.map((entry) => entry.key);
  if (followers.some((entry) => entry.act === "taken-back")) {
    return { gone: [sent.key, ...gone], changed: [] };
  }
  return { gone, changed: [{ ...sent, state: "refused", faults, status }] };
}

/**
 * How much there is, "2 readings and 1 other entry"; empty: nothing. A confirmation is its reading's.
 * @param {Entry[]} entries
 */
function amount(entries) {
  const counted = entries.filter((entry) => !(entry.act === "readings" && entry.of !== null));
  const readings = counted.filter((entry) => entry.act === "readings").length;
  const others = counted.length - readings;
  const parts = [
    readings > 0 ? `${readings} ${readings === 1 ? "reading" : "readings"}` : "",
    others > 0 ? `${others} other ${others === 1 ? "entry" : "entries"}` : "",
  ];
  return { words: parts.filter(Boolean).join(" and "), verb: counted.length === 1 ? "waits" : "wait" };
}

/**
 * How much waits, with its verb: "2 readings wait"; empty: nothing does.
 * @param {Entry[]} entries
 */
export function amountWaits(entries) {
  const { words, verb } = amount(entries);
  return words && `${words} ${verb}`;
}

/**
 * What waits here, in words; empty: nothing does. What the server could not keep, and what was set aside, is listed
 * by itself.
 * @param {Entry[]} entries
 * @param {boolean} down true: the server cannot be reached
 */
export function waitingWords(entries, down) {
  const left = entries.filter(({ state, trouble }) => state !== "refused" && state !== "aside" && (down || !trouble));
  if (down) {
    return left.length > 0 ? `no connection: ${amountWaits(left)} here, nothing is lost` : "no connection";
  }
  const { words } = amount(left);
  return words && `${words} on the way`;
}

/**
 * What was refused and is still kept here, in words; empty: nothing is.
 * @param {Entry[]} entries
 */
export function refusedWords(entries) {
  const count = entries.filter((entry) => entry.state === "refused").length;
  if (count === 0) {
    return "";
  }
  const [was, is, it] = count === 1 ? ["entry was", "is", "it"] : ["entries were", "are", "them"];
  return `${count} ${was} refused and ${is} kept here, not in the notebook: take the test up again to send ${it}`;
}

/**
 * Seconds to wait before the next try: twice as long each time, up to 30 s, and never all devices at once (own choice).
 * @param {number} failures in a row, from 1
 * @param {number} chance 0 to 1
 */
export const pause = (failures, chance) => Math.min(2 ** (failures - 1), 30) * (0.75 + 0.5 * chance);
