/** The line of last readings: what was kept, by whom, and what was taken back. Pure but for its drawing. */

import { stands } from "./bench.js";
import { make } from "./drawing.js";
import { waitingReadings } from "./view.js";
import { placeShort, readingText } from "./words.js";

const SHOWN = 4;

/**
 * @typedef {object} Line
 * @property {string} id
 * @property {string} words "07 seam 40.27"; without the number where it is hidden
 * @property {string} by empty where one person alone reads
 * @property {"kept"|"back"|"excluded"|"waits"} standing
 */

/**
 * The last readings, newest first.
 * @param {import("./view.js").View} view
 * @param {string} me
 * @returns {Line[]}
 */
export function lastReadings(view, me) {
  const standing = new Set(waitingReadings(view.entries));
  const back = new Set(view.entries.filter(({ act }) => act === "taken-back").map(({ of }) => of));
  const waiting = view.entries
    .filter((entry) => standing.has(entry) || (entry.act === "readings" && back.has(entry.key)))
    .map((entry) => waitingLine(view, entry, standing.has(entry) ? "waits" : "back"))
    .reverse();
  const several = new Set([...view.people, me].filter(Boolean)).size > 1;
  const kept = view.readings
    .slice(-SHOWN)
    .reverse()
    .map((reading) => ({
      id: `r${reading.id}`,
      words: readingShort(view, reading),
      by: several ? reading.by : "",
      standing: standingOf(view, reading),
    }));
  return [...waiting, ...kept].slice(0, SHOWN);
}

/** @param {import("./view.js").View} view @param {import("./records.js").Reading} reading */
function standingOf(view, reading) {
  if (reading.standing === "excluded") {
    return "excluded";
  }
  return stands(reading) && !view.goingBack.has(reading.id) ? "kept" : "back";
}

/**
 * A reading named short; a ball's number is left out in a blind test.
 * @param {import("./view.js").View} view
 * @param {import("./records.js").Reading} reading
 */
export function readingShort(view, reading) {
  const hidden = view.hidden && reading.ball !== null;
  return [placeShort(view, reading), hidden ? "" : readingText(view, reading)].filter(Boolean).join(" ");
}

function waitingLine(view, entry, standing) {
  const place = view.placeById.get(entry.body.place);
  const hidden = view.hidden && place?.ball !== null;
  const words = place ? [placeShort(view, place), hidden ? "" : entry.body.text.trim()] : [entry.body.text];
  return { id: entry.key, words: words.filter(Boolean).join(" "), by: "", standing };
}

/**
 * Write the line; an act that was no reading stands there instead of what was kept, so that it is seen to be taken.
 * @param {HTMLElement} element
 * @param {Line[]} all
 * @param {string} act in words; may be empty
 */
export function writeLast(element, all, act) {
  const lines = act ? all.filter((line) => line.standing === "waits") : all;
  const text = JSON.stringify([act, lines]);
  if (element.dataset.shown === text) {
    return;
  }
  element.dataset.shown = text;
  const waiting = lines.filter((line) => line.standing === "waits");
  const kept = lines.filter((line) => line.standing !== "waits");
  const acted = act ? [make("span", { class: "reading act" }, act, lines.length > 0 ? " ·" : ""), " "] : [];
  element.replaceChildren(...acted, ...group("waiting: ", waiting), ...group("kept: ", kept));
}

function group(head, lines) {
  return lines.flatMap((line, i) => [part(line, i === 0 ? head : "", i < lines.length - 1), " "]);
}

function part({ words, by, standing }, head, more) {
  const shown = make("span", { class: `reading ${standing}` }, head && make("span", { class: "quiet" }, head));
  const named = by ? `${words} (${by})` : words;
  const struck = { back: " taken back", excluded: " excluded" }[standing];
  shown.append(...(struck ? [make("s", {}, named), struck] : [named]), more ? " ·" : "");
  return shown;
}
