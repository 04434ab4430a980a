/** Who is at which place just now, so that two people do not take up the same ball. */

import { send, sendOff } from "./wire.js";

const RENEW_MS = 25000; // the server's lease is 60 s

/**
 * Places that others hold, from what the server tells.
 * @param {Object<string, {client?: string, by: string}|string>} told by place
 * @param {string} client this tab
 * @param {?number} own the place that this tab was granted
 * @returns {Map<number, {client: string, by: string}>}
 */
export function othersHold(told, client, own) {
  const held = Object.entries(told).map(([place, who]) => [
    Number(place),
    typeof who === "string" ? { client: "", by: who } : { client: who.client ?? "", by: who.by },
  ]);
  return new Map(held.filter(([place, who]) => who.client !== client && !(who.client === "" && place === own)));
}

export class Claims {
  /** @type {Map<number, {client: string, by: string}>} */
  held = new Map();
  /** @type {?number} */
  #place = null;
  /** @type {?number} */
  #granted = null;
  #asking = false;
  #again = false;

  /**
   * @param {number} test
   * @param {string} client
   * @param {() => string} by
   * @param {() => void} changed
   */
  constructor(test, client, by, changed) {
    this.address = `/api/tests/${test}/claims`;
    this.client = client;
    this.by = by;
    this.changed = changed;
    setInterval(() => this.#place !== null && this.#ask(), RENEW_MS);
    addEventListener("pagehide", () => sendOff(this.address, this.#body(null)));
  }

  /** Take up a place and leave the one before. @param {?number} place */
  take(place) {
    if (place === this.#place) {
      return;
    }
    this.#place = place;
    this.#ask();
  }

  /** Tell the server again, as after a broken line. */
  renew() {
    if (this.#place !== null) {
      this.#ask();
    }
  }

  /** What the stream told. */
  heard(told) {
    this.held = othersHold(told, this.client, this.#granted);
    this.changed();
  }

  #body(place) {
    return { client: this.client, by: this.by(), place };
  }

  /** Ask for the place of the moment; one question at a time, for two on the way may come in the other order. */
  async #ask() {
    if (this.#asking) {
      this.#again = true;
      return;
    }
    this.#asking = true;
    do {
      this.#again = false;
      await this.#askOnce();
    } while (this.#again);
    this.#asking = false;
  }

  async #askOnce() {
    const place = this.#place;
    const answer = await send(this.address, this.#body(place));
    if (answer.kind !== "reply" || place !== this.#place) {
      return;
    }
    this.#granted = answer.reply.granted ? place : null;
    this.held = othersHold(answer.reply.held ?? {}, this.client, this.#granted);
    if (!answer.reply.granted && place !== null && !this.held.has(place)) {
      this.held.set(place, { client: "", by: "somebody" });
    }
    this.changed();
  }
}
