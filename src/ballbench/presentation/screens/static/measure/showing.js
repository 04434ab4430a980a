/** Shows the desk: every part of the page after every change. */

import { drawHand, handOf } from "./ball_in_hand.js";
import { factsOf } from "./clocks.js";
import { person } from "./device.js";
import { FINISHED, doneOf, stepOf, writeDone } from "./done.js";
import { button, make, mark, write } from "./drawing.js";
import { lastReadings, writeLast } from "./last_readings.js";
import { refusedWords, waitingWords } from "./queue.js";
import { trayOf } from "./tray.js";
import { placeParts, sameName, unitWords } from "./words.js";

const ELSEWHERE = "these readings belong to another notebook: open it to send them";
const RECORDED = new Set(["rebound", "bounce_restitution", "outline_form"]); // what a recording gives
const SLOW_MS = 1500; // what is on its way so long is said to be (own choice)

/**
 * @typedef {object} Parts
 * @property {import("./tray_drawing.js").TrayDrawing} tray
 * @property {import("./signs.js").Signs} signs
 * @property {import("./question_box.js").Questions} questions
 * @property {import("./trouble_box.js").Troubles} troubles
 * @property {import("./running_box.js").RunningBox} running
 * @property {import("./begin.js").BeginCard} begin
 * @property {import("./panel.js").Panel} panel
 * @property {(piece: import("./records.js").ReferencePiece) => void} check
 * @property {() => void} takeBack
 * @property {(name: string) => void} rename
 */

export class Showing {
  /** Why the server cannot be reached, where it said so. */
  why = "";
  /** The act, other than a reading, that was done last here; empty once a reading was typed. */
  act = "";
  #hand = "";
  #slow = 0;

  /**
   * @param {(name: string) => HTMLElement} part
   * @param {import("./desk.js").Desk} desk
   * @param {Parts} parts
   */
  constructor(part, desk, parts) {
    this.part = part;
    this.desk = desk;
    this.parts = parts;
  }

  draw() {
    this.#waiting();
    const { desk, parts } = this;
    const { view, place } = desk;
    if (!view) {
      return;
    }
    const now = Date.now();
    const finished = view.test.stage === "finished";
    this.#facts(factsOf(view, place, now));
    parts.tray.show(trayOf(view, this.desk.claims.held, desk.ready ? place : null));
    const measuring = desk.ready && place !== null;
    this.part("desk").hidden = !measuring && !(desk.ready && desk.answers.length > 0);
    this.part("where").hidden = !measuring;
    this.part("hand").hidden = !measuring;
    this.#begins(finished);
    if (measuring) {
      this.#place(view, place);
    }
    parts.questions.show();
    parts.troubles.show();
    this.#done(desk.ready && place === null, finished);
    writeLast(this.part("last"), lastReadings(view, person()), this.act);
    parts.running.show(view, place);
    this.part("panel").hidden = finished;
    parts.panel.show(view, person(), now);
  }

  #begins(finished) {
    const { view } = this.desk;
    const asks = finished ? null : !view.sitting ? "sitting" : person() ? null : "person";
    const people = view.sitting?.by.join(", ");
    const words = asks === "person" && people ? `Sitting ${view.sitting.label} goes on, with ${people}.` : "";
    this.parts.begin.show(asks, person(), words);
  }

  #facts(facts) {
    const list = this.part("facts");
    const text = JSON.stringify(facts);
    if (list.dataset.shown !== text) {
      list.dataset.shown = text;
      list.replaceChildren(
        ...facts.map(({ name, label, words }) => make("li", { class: name }, make("span", {}, label), ` ${words}`)),
      );
    }
  }

  #waiting() {
    const { own: entries, entries: all } = this.desk.sender;
    const isOnItsWay = ({ state, trouble }) => state === "waiting" && !trouble;
    const late = entries.some((entry) => isOnItsWay(entry) && Date.now() - Date.parse(entry.body.at) > SLOW_MS);
    const words = this.desk.sender.down || late ? waitingWords(entries, this.desk.sender.down) : "";
    const more = [this.why, this.desk.safe ? "" : "This browser cannot keep them over a crash: leave the page open."];
    const elsewhere = all.length > entries.length ? ELSEWHERE : "";
    const failed = this.desk.failed && `the server could not say how the test stands: ${this.desk.failed}`;
    const over = this.desk.bench?.test.stage === "finished"; // there is no desk then on which a refusal is answered
    const line = [words, ...(words ? more : []), failed, over ? refusedWords(entries) : "", elsewhere].filter(Boolean).join(". ");
    this.part("waiting").hidden = line === "";
    write(this.part("waiting"), line);
    clearTimeout(this.#slow);
    if (!late && entries.some(isOnItsWay)) {
      this.#slow = setTimeout(() => this.draw(), SLOW_MS);
    }
  }

  /** The place in hand: its words, its picture, its entry. */
  #place(view, place) {
    const { desk } = this;
    const quantity = view.quantities.get(place.quantity);
    const parts = placeParts(view, place);
    const other = place.person && !sameName(place.person, person()) ? place.person : "";
    const text = JSON.stringify([parts, handOf(view, place), other]);
    if (text !== this.#hand) {
      this.#hand = text;
      this.part("where").replaceChildren(make("b", {}, parts[0]), ` · ${parts.slice(1).join(" · ")}`);
      drawHand(this.part("ball"), handOf(view, place));
      write(this.part("why"), place.why ? `asked for again: ${place.why}` : "");
      this.part("why").hidden = !place.why;
      this.part("hand-over").hidden = !other;
      this.part("hand-over").replaceChildren(...(other ? [button(`${other} measures now`, () => this.parts.rename(other))] : []));
    }
    const unit = unitWords(quantity?.unit ?? "");
    write(this.part("unit"), unit);
    write(this.part("entry-name"), `Reading of ${parts.join(", ")}${unit ? `, in ${unit}` : ""}`);
    mark(this.part("entry"), "inputmode", quantity?.yes_no ? "text" : "decimal");
    mark(this.part("entry"), "aria-invalid", desk.answer ? "true" : null);
    mark(this.part("hand"), "data-asked", desk.answer !== null);
    this.part("question").hidden = !quantity?.yes_no;
    write(this.part("question"), quantity?.yes_no ? `${quantity.words}?` : "");
    this.part("beware").hidden = !quantity?.caution;
    write(this.part("beware"), quantity?.caution ?? "");
    this.part("from-recording").hidden = !RECORDED.has(place.quantity);
    mark(this.part("from-recording-link"), "href", `/tests/${this.desk.who.test}/recordings?place=${place.id}`);
    this.parts.signs.show(view.bench.reasons, quantity);
  }

  #done(nothing, finished) {
    this.part("done").hidden = !nothing && !finished;
    if (finished) {
      writeDone(this.part, { ...FINISHED, step: stepOf(this.desk.view) }, this.desk.who.test, this.parts);
    } else if (nothing) {
      const done = doneOf(this.desk.view, this.desk.claims.held, person());
      writeDone(this.part, done, this.desk.who.test, this.parts);
    }
  }
}

