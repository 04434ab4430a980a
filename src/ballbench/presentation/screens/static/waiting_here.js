/** What waits in this browser and is in no notebook yet: the queues of the measuring pages, seen from every page. */

import { openStore } from "./measure/queue_store.js";
import { fetchOne } from "./measure/wire.js";

/** @typedef {import("./measure/records.js").Entry} Entry */

const opened = openStore();

/**
 * What waits, by test.
 * @returns {Promise<Map<number, Entry[]>>}
 */
export async function waitingHere() {
  const store = await opened;
  const entries = await store.all().catch(() => []);
  const groups = new Map();
  entries.forEach((entry) => groups.set(entry.test, [...(groups.get(entry.test) ?? []), entry]));
  return groups;
}

/**
 * Which of a test's entries are for the notebook that is open; all of them where it does not say.
 * @param {number} test
 * @param {Entry[]} entries
 * @returns {Promise<{own: Entry[], elsewhere: Entry[], title: string}>}
 */
export async function ownOf(test, entries) {
  const answer = await fetchOne(`/api/tests/${test}/bench`);
  if (answer.kind === "refused" && answer.status === 404) {
    return { own: [], elsewhere: entries, title: "" };
  }
  const { notebook = null, test: told } = answer.kind === "reply" ? answer.reply : {};
  const isElsewhere = (entry) => Boolean(notebook && entry.notebook && entry.notebook !== notebook);
  return {
    own: entries.filter((entry) => !isElsewhere(entry)),
    elsewhere: entries.filter(isElsewhere),
    title: told?.title ?? `test ${test}`,
  };
}
