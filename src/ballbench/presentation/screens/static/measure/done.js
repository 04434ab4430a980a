/** When nothing is left to read here: what is read, what is missing, and where to go on. */

import { lastOwn } from "./acts.js";
import { instrumentOf } from "./clocks.js";
import { holders, isLeft } from "./cursor.js";
import { button, make, write } from "./drawing.js";
import { waitingReadings } from "./view.js";
import { plural } from "./words.js";

/**
 * @typedef {object} Done
 * @property {string} head
 * @property {string[]} lines
 * @property {?import("./records.js").ReferencePiece} check a piece to be read once more
 * @property {boolean} whole everything is read
 * @property {boolean} own there is an own reading to take back
 * @property {"judge"|"qualify"} step where what was read is looked at
 */

/** What is said of a test that takes no more readings. @type {Done} */
export const FINISHED = {
  head: "This test is finished.",
  lines: ["Nothing more is read in it. To read on, take it up again on its own page."],
  check: null,
  whole: true,
  own: false,
  step: "judge",
};

/**
 * What is said when there is nothing to read here now.
 * @param {import("./view.js").View} view
 * @param {Map<number, {by: string}>} held
 * @param {string} me
 * @returns {Done}
 */
export function doneOf(view, held, me) {
  const own = lastOwn(view, me) !== null;
  const places = view.places.filter((place) => place.ball !== null);
  const left = view.places.filter(isLeft);
  if (left.length > 0) {
    const holder = holders(view, held);
    const people = [...new Set(left.map((place) => holder(place)?.by).filter(Boolean))].join(" and ");
    const whose = people ? ` with ${people}` : "";
    const line = "It comes back here when it is left, or when a minute has passed without a word from there.";
    const head = `${plural(left.length, "reading is", "readings are")}${whose}.`;
    return { head, lines: [line], check: null, whole: false, own, step: stepOf(view) };
  }
  const check = uncheckedPiece(view);
  const lines = [];
  if (check) {
    lines.push(`The ${check.instrument} was not checked after its last reading: read the ${check.name} once more.`);
  }
  const doubtful = view.readings.filter((one) => one.touched && one.standing === "kept").length;
  if (doubtful > 0) {
    const what = plural(doubtful, "reading is", "readings are");
    lines.push(`${what} in doubt after a failed check: look at them under Corrections.`);
  }
  return { head: `All ${places.length} read.`, lines, check, whole: true, own, step: stepOf(view) };
}

/** Where what was read is looked at: a repeat study says something of its instrument, any other test of its balls. */
export const stepOf = (view) => (view.test.purpose ? "qualify" : "judge");

/** A piece whose instrument read a ball last, and no piece after it; what waits here was read after what is kept. */
function uncheckedPiece(view) {
  const kept = view.readings.filter((one) => one.standing !== "taken back" && !view.goingBack.has(one.id));
  const waiting = waitingReadings(view.entries).map(({ body }) => view.placeById.get(body.place));
  const last = new Map([...kept, ...waiting.filter(Boolean)].map((one) => [instrumentOf(view, one), one]));
  const unchecked = ({ instrument }) => (last.get(instrument)?.ball ?? null) !== null;
  return [...view.bench.references.values()].find(unchecked) ?? null;
}

/**
 * Write the card.
 * @param {(name: string) => HTMLElement} part
 * @param {Done} done
 * @param {number} test
 * @param {{check: (piece: import("./records.js").ReferencePiece) => void, takeBack: () => void}} acts
 */
export function writeDone(part, done, test, acts) {
  const body = part("done-body");
  const text = JSON.stringify(done);
  if (body.dataset.shown === text) {
    return;
  }
  body.dataset.shown = text;
  write(part("done-head"), done.head);
  const steps = make("p", { class: "steps" });
  if (done.check) {
    steps.append(button(`Check the ${done.check.instrument} now`, () => acts.check(done.check), { class: "main" }));
  }
  if (done.whole) {
    const main = done.check ? "button" : "button main";
    steps.append(
      make("a", { class: main, href: `/tests/${test}/${done.step}` }, done.step === "qualify" ? "Qualify" : "Judge"),
      make("a", { class: "button", href: `/tests/${test}/corrections` }, "Corrections"),
      make("a", { class: "button", href: `/tests/${test}` }, "This test"),
    );
  }
  if (done.own) {
    steps.append(button("Take back the last", () => acts.takeBack()));
  }
  body.replaceChildren(...done.lines.map((line) => make("p", {}, line)), steps);
}
