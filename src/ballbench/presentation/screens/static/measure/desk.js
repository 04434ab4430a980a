/** One person's desk: the bench as it is known here, and the place in hand. It draws and says nothing itself. */

import { apply, benchFrom, isIn, needsWhole } from "./bench.js";
import { holders, isLeft, nextOf, nextPlace } from "./cursor.js";
import { cleared, lastPlace, setCleared, setLastPlace } from "./device.js";
import { toAnswer } from "./questions.js";
import { viewOf } from "./view.js";
import { fetchOne } from "./wire.js";

const IN_THE_JAWS_MS = 1500; // a place asked for so long has its ball in the hand, and is not changed (own choice)

/** @typedef {import("./questions.js").ToAnswer} ToAnswer */

/**
 * @typedef {object} Voice what the desk tells the page
 * @property {() => void} changed something to be drawn
 * @property {(reading: import("./records.js").Reading, reply: object) => void} kept an own reading came in
 * @property {(question: ToAnswer) => void} asked
 * @property {(words: string, more?: object) => void} told an act was done
 * @property {(place: import("./view.js").SeenPlace, how: string) => void} lost a place in hand is somebody else's now
 * @property {() => void} anew the state is not what was told so far, so the stream is to be opened anew
 * @property {() => boolean} typing something stands in the entry, so the place in hand must not move
 */

export class Desk {
  /** @type {?import("./bench.js").Bench} */
  bench = null;
  /** @type {?import("./view.js").View} */
  view = null;
  /** @type {ToAnswer[]} */
  answers = [];
  hand = { place: /** @type {?number} */ (null), putOff: 0, extra: false, insisted: false };
  safe = true;
  /** Why the server could not say how the test stands; empty: it could. */
  failed = "";
  #cleared = new Set(cleared());
  #raised = new Set();
  #typed = new Map();
  #fetching = false;
  /** A place that was just refused. @type {?number} */
  #toldOf = null;
  #since = Date.now();

  /**
   * @param {{test: number, client: string, by: () => string}} who
   * @param {import("./sender.js").Sender} sender
   * @param {import("./claims.js").Claims} claims
   * @param {Voice} voice
   */
  constructor(who, sender, claims, voice) {
    this.who = who;
    this.sender = sender;
    this.claims = claims;
    this.voice = voice;
    const last = lastPlace(who.test);
    if (last) {
      this.hand = { ...last, extra: false, insisted: false };
    }
  }

  /** The place in hand as it is seen now; null: nothing is left here. */
  get place() {
    return this.view?.placeById.get(this.hand.place) ?? null;
  }

  get quantity() {
    return this.view?.quantities.get(this.place?.quantity ?? "") ?? null;
  }

  /** What is to be answered at the place in hand. @returns {?ToAnswer} */
  get answer() {
    return this.answers.find((one) => one.place !== null && one.place === this.hand.place) ?? null;
  }

  /** Whether everything is there to measure: a test under way, a person, a sitting. */
  get ready() {
    return this.bench !== null && this.bench.test.stage !== "finished" && Boolean(this.view.sitting && this.who.by());
  }

  /**
   * Fetch the whole state; false: the server cannot be reached.
   * @param {boolean} [again] true: the state fetched just before was older than what is known here
   */
  async fetch(again = false) {
    if (this.#fetching) {
      return true;
    }
    this.#fetching = true;
    const answer = await fetchOne(`/api/tests/${this.who.test}/bench`);
    this.#fetching = false;
    this.sender.line(answer.kind === "down", answer.why);
    this.failed = answer.kind === "failed" ? answer.title : "";
    if (answer.kind !== "reply") {
      return answer.kind === "refused";
    }
    const { bench } = this;
    const other = bench !== null && bench.notebook !== (answer.reply.notebook ?? null);
    const older = bench !== null && answer.reply.revision < Math.max(bench.reached, ...bench.ahead);
    if (older && !other && !again) {
      return this.fetch(true); // something was told meanwhile that this state does not have yet
    }
    this.bench = benchFrom(answer.reply);
    this.sender.answers(this.bench.notebook);
    this.settle();
    if (older || other) {
      this.voice.anew(); // another notebook answers, or this one was put back from a copy
    }
    return true;
  }

  /** Put a submission in, told by the stream or in reply to an own one. */
  take(change, inTurn) {
    if (!this.bench) {
      return;
    }
    const news = !isIn(this.bench, change.revision);
    this.bench = apply(this.bench, change, inTurn);
    this.settle();
    if (news && needsWhole(change)) {
      this.fetch();
    }
  }

  /** An entry of this browser's queue was answered. */
  replied(entry, reply) {
    this.take({ revision: reply.revision, reply }, false);
    if (!this.bench || entry.body.client !== this.who.client) {
      return;
    }
    if (reply.status === "kept") {
      this.voice.kept(reply.reading, reply);
    } else if (reply.status === "asked") {
      this.#typed.set(entry.key, entry.body.text);
      this.settle();
      this.ask(reply.question.key);
    }
  }

  /** An entry of this browser's queue was refused. */
  refused(entry) {
    if (entry.act.startsWith("sittings")) {
      this.fetch();
    }
    this.settle();
    this.ask(entry.key);
  }

  /** Find the place in hand anew, and draw. A place under a number that is being typed stays. */
  settle() {
    if (!this.bench) {
      return;
    }
    this.view = viewOf(this.bench, this.sender.own);
    this.answers = toAnswer(this.view, this.who.by(), this.#cleared);
    if (!this.voice.typing()) {
      this.#move();
    }
    if (this.place) {
      setLastPlace(this.who.test, this.hand.place, this.hand.putOff);
    }
    this.#claim();
    this.voice.changed();
  }

  /** Claim the place in hand; the one before is left when its reading is kept, or others would be sent to it still. */
  #claim() {
    const { place: before } = this.claims;
    const isOnItsWay = ({ act, state, trouble, body }) =>
      act === "readings" && state === "waiting" && !trouble && body.place === before;
    if (this.sender.down || !this.view.entries.some(isOnItsWay)) {
      this.claims.take(this.ready && !this.hand.extra ? this.hand.place : null);
    }
  }

  /**
   * The ball in hand was another's already when it was asked for: it is left at once, and with words. A ball that the
   * person took from another hand, by its own circle in the tray, stays.
   * @returns {boolean} whether it is left
   */
  refusedPlace(place) {
    const stays = this.hand.insisted && this.hand.place === place;
    this.#toldOf = stays ? this.#toldOf : place;
    return !stays;
  }

  #move() {
    const { held } = this.claims;
    if (this.hand.extra || this.answer) {
      return;
    }
    const before = this.place;
    const inTheJaws = before !== null && Date.now() - this.#since > IN_THE_JAWS_MS;
    const next = nextPlace(this.view, held, this.hand.place, this.hand.putOff);
    const stays = inTheJaws && next === before.id;
    const open = this.answers.find(({ key, place }) => !stays && !this.#raised.has(key) && this.#isFree(place));
    if (open) {
      this.#raised.add(open.key);
    }
    this.#hold(open?.place ?? next);
    const refused = before !== null && this.#toldOf === before.id;
    this.#toldOf = null;
    if ((inTheJaws || refused) && held.has(before.id)) {
      this.voice.lost(before, `is with ${held.get(before.id).by} now`);
    } else if (inTheJaws && before.filled && !before.waiting) {
      const last = this.view.readings.filter((reading) => reading.place === before.id).at(-1);
      this.voice.lost(before, `was read by ${last.by}`);
    }
  }

  /** Whether a place is nobody else's just now. */
  #isFree(place) {
    return this.view.placeById.has(place) && !this.claims.held.has(place);
  }

  /** Take a place up; one that is filled, or whose reading waits here, is read once more. */
  #hold(place) {
    const seen = this.view.placeById.get(place);
    this.#since = place === this.hand.place ? this.#since : Date.now();
    const insisted = this.hand.insisted && place === this.hand.place;
    this.hand = { place, putOff: seen?.put_off ?? 0, extra: seen !== undefined && !isLeft(seen), insisted };
  }

  /** Go to the next open place of a ball or piece; false: it has none. */
  goTo(whose, quantity = this.place?.quantity) {
    const place = nextOf(this.view, this.claims.held, whose, quantity);
    if (place === null || this.voice.typing()) {
      return false;
    }
    const holder = holders(this.view, this.claims.held)(this.view.placeById.get(place));
    this.#hold(place);
    this.hand.insisted = holder !== undefined;
    this.settle();
    return true;
  }

  /** Go to a place that something is asked about. */
  goToPlace(place) {
    if (this.#isFree(place) && !this.voice.typing()) {
      this.#hold(place);
      this.settle();
    }
  }

  /** Read a reference piece now, once more where all its places are read. */
  checkPiece(piece) {
    const whose = { ball: null, reference: piece.id };
    if (this.goTo(whose) || this.voice.typing()) {
      return;
    }
    const last = this.view.places.filter((place) => place.reference === piece.id).at(-1);
    if (last) {
      this.#hold(last.id);
      this.settle();
    }
  }

  /** Note whether what waits here would outlive a crash of this page. @param {boolean} kept */
  safety(kept) {
    if (this.safe && !kept) {
      this.safe = false;
      this.voice.changed();
    }
  }

  /** Take a place up again after its reading was taken back. @param {number} place */
  backTo(place) {
    this.#hold(place);
    this.hand.extra = false;
  }

  /** Clear what is asked, so that it is not asked again in this tab. @param {string} key */
  clear(key) {
    this.#cleared.add(key);
    setCleared([...this.#cleared]);
  }

  /** What was typed for a question, letter by letter; undefined: before this page was loaded. @param {string} key */
  typed(key) {
    return this.#typed.get(key);
  }

  /** Ask about an entry of this page. @param {string} key */
  ask(key) {
    const question = this.answers.find((one) => one.key === key);
    if (question) {
      this.voice.asked(question);
    }
  }
}
