/** Who is at which place just now, so that two people do not take up the same ball. */

import { send, sendOff } from "./wire.js";

const RENEW_MS = 25000; // the server's lease is 60 s
const REFUSED_MS = 3000; // a refused place that the stream says nothing of is asked for again (own choice)

/**
 * Places that others hold, from what the stream tells.
 * @param {Object<string, {client: string, by: string}>} told by place
 * @param {string} client this tab
 * @returns {Map<number, {client: string, by: string}>}
 */
export function othersHold(told, client) {
  const held = Object.entries(told).map(([place, who]) => [Number(place), who]);
  return new Map(held.filter(([, who]) => who.client !== client));
}

export class Claims {
  /** Places in other hands. @type {Map<number, {client: string, by: string}>} */
  held = new Map();
  /** @type {?number} */
  #place = null;
  #refused = 0;
  #asking = false;
  #again = false;

  /**
   * @param {number} test
   * @param {string} client
   * @param {() => string} by
   * @param {() => void} changed
   * @param {(place: number) => boolean} refused the ball of the place is in another hand; whether it is left for that
   */
  constructor(test, client, by, changed, refused) {
    this.address = `/api/tests/${test}/claims`;
    this.client = client;
    this.by = by;
    this.changed = changed;
    this.refused = refused;
    setInterval(() => this.#place !== null && this.#ask(), RENEW_MS);
    addEventListener("pagehide", () => sendOff(this.address, this.#body(null)));
  }

  /** The place that is asked for. @returns {?number} */
  get place() {
    return this.#place;
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

  /** What the stream told. It alone says who is where: an answer to this tab may be older, and nothing follows it. */
  heard(told) {
    clearTimeout(this.#refused);
    this.held = othersHold(told, this.client);
    this.changed();
  }

  /** A place was refused, for somebody has its ball, and the stream has not told of it yet. */
  #refuse(place, by) {
    if (!this.refused(place)) {
      return;
    }
    clearTimeout(this.#refused);
    this.held = new Map(this.held).set(place, { client: "", by });
    this.#refused = setTimeout(() => {
      this.held = new Map([...this.held].filter(([, who]) => who.client !== ""));
      this.changed();
    }, REFUSED_MS);
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
    const { granted, held } = answer.reply;
    if (!granted && place !== null && !this.held.has(place)) {
      this.#refuse(place, held?.[place] ?? "somebody");
    }
  }
}
