/** Every act at the desk: each becomes an entry of the queue, with a key of its own. */

import { entryFor, lastOwn } from "./acts.js";
import { uuid } from "./device.js";
import { isFar, saySame } from "./gate.js";
import { setAside, toSendNow, withFollowers } from "./queue.js";

export class Deeds {
  /** @param {import("./desk.js").Desk} desk */
  constructor(desk) {
    this.desk = desk;
  }

  /** Keep what was typed for the place in hand. @param {string} text as it was typed */
  keep(text) {
    const { desk } = this;
    const { place, answer } = desk;
    if (!place) {
      return;
    }
    const same = answer !== null && saySame(text, desk.typed(answer.key) ?? answer.text);
    if (answer?.kind === "held" && same) {
      this.#confirmHeld(answer);
      return;
    }
    const confirms = answer?.kind === "asked" && same ? { confirms: answer.key } : {};
    const far = desk.sender.down && !confirms.confirms && place.ball !== null && isFar(text, desk.quantity);
    const body = { place: place.id, text, ...confirms };
    const piece = place.reference !== null;
    const entry = this.#entry("readings", body, { state: far ? "held" : "waiting", piece });
    desk.hand.extra = false;
    this.#put([entry], ownKeys(answer));
    if (far) {
      desk.ask(entry.key);
    }
  }

  /** An entry that was asked about here is sent, and its confirmation behind it. */
  #confirmHeld(answer) {
    const first = this.desk.sender.entries.find((entry) => entry.key === answer.key);
    const body = { place: first.body.place, text: first.body.text, confirms: first.key };
    this.#put([{ ...first, state: "waiting" }, this.#entry("readings", body, { of: first.key })]);
  }

  /** Take one's own last reading back; while something is asked, clear that instead. */
  takeBack() {
    const { desk } = this;
    if (desk.answer) {
      this.clear(desk.answer);
      desk.voice.told("cleared; it was not kept");
      return;
    }
    const last = lastOwn(desk.view, desk.who.by());
    if (!last) {
      desk.voice.told("nothing of yours to take back in this sitting");
      return;
    }
    const { reading, entry } = last;
    desk.backTo(reading?.place ?? entry.body.place);
    const back = reading ?? this.#asReading(entry);
    this.#put([this.#entry("taken-back", reading ? { reading: reading.id } : {}, { of: entry?.key ?? null })]);
    desk.voice.told("", { back });
  }

  /** A reading that waits here, as the notebook would have it. */
  #asReading({ body }) {
    const { view } = this.desk;
    const { ball, reference, quantity, axis, repeat } = view.placeById.get(body.place);
    const unit = view.quantities.get(quantity)?.unit ?? "";
    return { ball, reference, quantity, axis, repeat, unit, text: body.text.trim() };
  }

  /** Leave the place in hand for later. */
  later() {
    const { desk } = this;
    const { place, answer } = desk;
    if (!place) {
      return;
    }
    if (answer) {
      this.clear(answer);
    }
    desk.hand.extra = false;
    this.#put([this.#entry("later", { place: place.id })]);
    desk.voice.told(desk.hand.place === place.id ? "it is the only one left here" : "", { later: place });
  }

  /** The instrument in hand was zeroed. @param {string} instrument */
  zeroed(instrument) {
    this.#put([this.#entry("marks", { kind: "zeroed", ...(instrument ? { note: instrument } : {}) })]);
    this.desk.voice.told(instrument ? `${instrument} zeroed` : "zeroed");
  }

  /** An attempt at the place in hand gave no reading. @param {string} reason */
  spoil(reason) {
    const { place, answer } = this.desk;
    if (place) {
      this.#put([this.#entry("spoiled", { place: place.id, reason })], ownKeys(answer));
      this.desk.voice.told(`spoiled: ${reason}. Read it again.`);
    }
  }

  /** Note what else happened. @param {string} kind @param {{value?: number, ball?: number}} more */
  note(kind, more) {
    this.#put([this.#entry("marks", { kind, ...more })]);
  }

  /** Ask for one more reading. @param {{ball: number, quantity: string, axis: string, reason: string}} body */
  again(body) {
    this.#put([this.#entry("again", body)]);
  }

  /** Begin a sitting. @param {{kind: string, air_c?: number, ball_c?: number}} sitting */
  begin(sitting) {
    this.#put([this.#entry("sittings", sitting)]);
  }

  /** End the sitting and begin one of the other kind, in one go. @param {"bench"|"paper"} kind */
  change(kind) {
    const end = this.#entry("sittings/end", {});
    const begin = this.#entry("sittings", { kind });
    this.#put([end, { ...begin, seq: end.seq + 1 }]);
  }

  /** End the sitting. */
  end() {
    this.#put([this.#entry("sittings/end", {})]);
  }

  /** Clear what is asked: it was no reading, and is none. @param {import("./questions.js").ToAnswer} answer */
  clear(answer) {
    this.desk.clear(answer.key);
    if (answer.kind === "asked") {
      this.desk.settle();
    } else {
      this.#put([], [answer.key]);
    }
  }

  /** Send now what was refused, could not be kept, or was set aside, under its key. @param {string} key */
  sendAgain(key) {
    this.#put(toSendNow(this.desk.sender.entries, key));
  }

  /** Set aside what the server could not keep; it stays in this browser. @param {string} key */
  setAside(key) {
    this.#put(setAside(this.desk.sender.entries, key));
    this.desk.voice.told("set aside; it stays in this browser");
  }

  /** Take what was set aside off the list: it was written down. @param {string} key */
  writtenDown(key) {
    this.#put([], withFollowers(this.desk.sender.entries, key).map((entry) => entry.key));
  }

  #entry(act, body, more) {
    const { test, client, by } = this.desk.who;
    const { notebook } = this.desk.bench;
    const hand = { test, client, notebook, by: by(), key: uuid, now: () => new Date() };
    return entryFor(hand, this.desk.sender.entries, act, body, more);
  }

  #put(entries, gone = []) {
    this.desk.sender.put(entries, gone).then((kept) => this.desk.safety(kept));
  }
}

/** The key of an entry in the queue that a new entry takes the place of. */
const ownKeys = (answer) => (answer && answer.kind !== "asked" ? [answer.key] : []);
