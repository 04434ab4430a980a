/** Sends the queue, one entry after another; over all tabs of this browser only one sends at a time. */

import { afterFailure, afterRefusal, afterReply, nextToSend, nextTry, pause } from "./queue.js";
import { send } from "./wire.js";

/** @typedef {import("./records.js").Entry} Entry */

/**
 * @typedef {object} Listener
 * @property {() => void} changed the queue is another
 * @property {(entry: Entry, reply: object) => void} replied
 * @property {(entry: Entry) => void} refused
 * @property {(entry: Entry) => void} failed the server answered that it could not keep it
 * @property {(down: boolean, why: string) => void} line whether the server can be reached
 */

export class Sender {
  /** @type {Entry[]} */
  entries = [];
  down = false;
  /** Of the state that was fetched last. @type {?string} */
  notebook = null;
  /** @type {Set<string>} notebooks that the server said it is not */
  #others = new Set();
  #failures = 0;
  #timer = 0;
  #busy = false;
  #again = false;
  /** @type {{put: Entry[], gone: string[]}[]} changes that are not in the store yet */
  #unkept = [];
  #channel = "BroadcastChannel" in globalThis ? new BroadcastChannel("ballbench.queue") : null;

  /**
   * @param {number} test
   * @param {import("./queue_store.js").Store} store
   * @param {Listener} listener
   */
  constructor(test, store, listener) {
    this.test = test;
    this.store = store;
    this.listener = listener;
    this.#channel?.addEventListener("message", ({ data }) => this.#heard(data));
    addEventListener("online", () => this.wake());
    addEventListener("offline", () => this.line(true));
  }

  /** Take up what was left here before. */
  async begin() {
    await this.#load();
    this.wake();
  }

  /**
   * Put entries into the queue, or change some; they are kept before they are sent.
   * @param {Entry[]} put
   * @param {string[]} [gone] keys of entries that are not to be sent any more
   * @returns {Promise<boolean>} false: they are in this page's memory alone
   */
  async put(put, gone = []) {
    const keeping = this.#keep(gone, put);
    this.listener.changed();
    const kept = await keeping;
    this.#channel?.postMessage({ test: this.test });
    this.wake();
    return kept;
  }

  /** Try now, without waiting for the next turn. */
  wake() {
    clearTimeout(this.#timer);
    this.#timer = 0;
    if (this.#busy) {
      this.#again = true;
      return;
    }
    this.#busy = true;
    this.#alone(() => this.#drain())
      .catch(() => undefined)
      .finally(() => {
        this.#busy = false;
        if (this.#again) {
          this.#again = false;
          this.wake();
        }
      });
  }

  /** Note which notebook answers now. @param {?string} notebook */
  answers(notebook) {
    this.notebook = notebook;
    this.#others.clear();
    this.wake();
  }

  /** Whether an entry was made for another notebook than the one that answers. @param {Entry} entry */
  isElsewhere({ notebook }) {
    return Boolean(notebook) && (this.#others.has(notebook) || (this.notebook !== null && this.notebook !== notebook));
  }

  /** What waits for the notebook that answers. */
  get own() {
    return this.entries.filter((entry) => !this.isElsewhere(entry));
  }

  /** Note whether the server was reached, by this or by another way. */
  line(down, why = "") {
    this.down = down;
    this.#failures = down ? this.#failures : 0;
    this.listener.line(down, why);
  }

  #alone(work) {
    return navigator.locks ? navigator.locks.request(`ballbench.send.${this.test}`, work) : work();
  }

  async #drain() {
    await this.#load();
    for (let entry = this.#next(); entry; entry = this.#next()) {
      const answer = await send(`/api/tests/${this.test}/${entry.act}`, entry.body, entry.notebook);
      if (answer.kind === "down") {
        this.#failures += 1;
        this.line(true, answer.why);
        this.#timer = setTimeout(() => this.wake(), 1000 * pause(this.#failures, Math.random()));
        return;
      }
      this.line(false);
      if (entry.notebook && answer.status === 409 && answer.faults[0].where === "notebook") {
        this.#others.add(entry.notebook);
        this.listener.changed();
        continue;
      }
      await (answer.kind === "failed" ? this.#failed(entry, answer) : this.#settle(entry, answer));
    }
    const again = nextTry(this.own, Date.now());
    if (again !== null) {
      clearTimeout(this.#timer);
      this.#timer = setTimeout(() => this.wake(), again - Date.now());
    }
  }

  #next() {
    return nextToSend(this.own, Date.now());
  }

  /** The server could not keep an entry: it rests; one that was set aside meanwhile stays so. */
  async #failed({ key }, answer) {
    const entry = this.entries.find((one) => one.key === key);
    if (entry?.state === "waiting") {
      const resting = afterFailure(entry, answer, Date.now(), Math.random());
      const keeping = this.#keep([], [resting]);
      this.listener.failed(resting);
      await keeping;
      this.#channel?.postMessage({ test: this.test });
    }
  }

  async #settle(entry, answer) {
    const replied = answer.kind === "reply";
    const { gone, changed } = replied
      ? afterReply(this.entries, entry, answer.reply)
      : afterRefusal(this.entries, entry, answer.faults, answer.status);
    const keeping = this.#keep(gone, changed);
    const told = changed.find((one) => one.key === entry.key) ?? entry;
    this.#tell(told, replied ? answer.reply : null);
    await keeping;
    this.#channel?.postMessage({ test: this.test, entry: told, reply: replied ? answer.reply : null });
  }

  #tell(entry, reply) {
    if (reply) {
      this.listener.replied(entry, reply);
    } else {
      this.listener.refused(entry);
    }
  }

  /** Another tab changed the queue, or sent an entry of it. */
  async #heard({ test, entry, reply }) {
    if (test !== this.test) {
      return;
    }
    if (entry) {
      this.#forget([entry.key], this.#unkept.length);
    }
    await this.#load();
    if (entry) {
      this.#tell(entry, reply);
    } else {
      this.listener.changed();
      this.wake();
    }
  }

  /**
   * Change the queue in memory at once, and in the store.
   * @returns {Promise<boolean>} false: the store did not take it, and memory alone has it
   */
  async #keep(gone, put) {
    const change = { gone, put };
    this.#unkept.push(change);
    this.entries = changedBy(this.entries, change);
    try {
      await this.store.change(gone, put);
    } catch {
      return false;
    }
    const keys = [...gone, ...put.map((entry) => entry.key)];
    this.#forget(keys, this.#unkept.indexOf(change) + 1);
    return this.store.safety === "kept";
  }

  /** The store has a newer state of these keys than the first so many changes that it did not take. */
  #forget(keys, count) {
    const older = this.#unkept.slice(0, count).map(({ gone, put }) => ({
      gone: gone.filter((key) => !keys.includes(key)),
      put: put.filter((entry) => !keys.includes(entry.key)),
    }));
    const left = older.filter(({ gone, put }) => gone.length + put.length > 0);
    this.#unkept = [...left, ...this.#unkept.slice(count)];
  }

  /** Read the store anew, for another tab may have changed it. */
  async #load() {
    const stored = await this.store.all(this.test).catch(() => null);
    if (stored) {
      this.entries = this.#unkept.reduce(changedBy, stored);
    }
  }
}

/**
 * @param {Entry[]} entries
 * @param {{put: Entry[], gone: string[]}} change
 */
function changedBy(entries, { put, gone }) {
  const keys = new Set([...gone, ...put.map((entry) => entry.key)]);
  return [...entries.filter((entry) => !keys.has(entry.key)), ...put];
}
