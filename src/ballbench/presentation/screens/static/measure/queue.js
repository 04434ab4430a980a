/** The rules of the queue: what is sent next, and what an answer does to what still waits. No storage, no network. */

/** @typedef {import("./records.js").Entry} Entry */

/**
 * Put entries in the order in which they are sent.
 * @param {Entry[]} entries
 */
export const inTurn = (entries) => [...entries].sort((one, other) => one.seq - other.seq);

/**
 * The entry to send now: the first that waits, and whose answer to wait for is there.
 * @param {Entry[]} entries
 * @returns {?Entry}
 */
export function nextToSend(entries) {
  const keys = new Set(entries.map((entry) => entry.key));
  const ready = (entry) => entry.state === "waiting" && !(entry.of && keys.has(entry.of));
  return inTurn(entries).find(ready) ?? null;
}

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
 * What waits here, in words; empty: nothing does.
 * @param {Entry[]} entries
 * @param {boolean} down true: the server cannot be reached
 */
export function waitingWords(entries, down) {
  const isConfirmation = (entry) => entry.act === "readings" && entry.of !== null;
  const left = entries.filter((entry) => entry.state !== "refused" && !isConfirmation(entry));
  const readings = left.filter((entry) => entry.act === "readings").length;
  const others = left.length - readings;
  const parts = [
    readings > 0 ? `${readings} ${readings === 1 ? "reading" : "readings"}` : "",
    others > 0 ? `${others} other ${others === 1 ? "entry" : "entries"}` : "",
  ].filter(Boolean);
  if (!down) {
    return parts.length > 0 ? `${parts.join(" and ")} on the way` : "";
  }
  const verb = left.length === 1 ? "waits" : "wait";
  return parts.length > 0 ? `no connection: ${parts.join(" and ")} ${verb} here, nothing is lost` : "no connection";
}

/**
 * Seconds to wait before the next try: twice as long each time, up to 30 s, and never all devices at once (own choice).
 * @param {number} failures in a row, from 1
 * @param {number} chance 0 to 1
 */
export const pause = (failures, chance) => Math.min(2 ** (failures - 1), 30) * (0.75 + 0.5 * chance);
