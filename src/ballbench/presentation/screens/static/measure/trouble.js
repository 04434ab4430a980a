/** Acts that the server could not keep, in words: those that are tried again, and those set aside. Pure. */

import { actWords } from "./questions.js";
import { placeShort } from "./words.js";

/** @typedef {import("./records.js").Entry} Entry */

/** An act with its place: “42.70” for 07 seam. @param {import("./view.js").View} view @param {Entry} entry */
function withPlace(view, entry) {
  const place = view.placeById.get(entry.body.place);
  return place ? `${actWords(entry)} for ${placeShort(view, place)}` : actWords(entry);
}

/**
 * Entries of the queue that the server could not keep so far, in their turn; a confirmation is its reading's.
 * @param {import("./view.js").View} view
 */
export const failing = (view) => view.entries.filter(({ state, trouble }) => state === "waiting" && trouble);

/**
 * What is said of one of them.
 * @param {import("./view.js").View} view
 * @param {Entry} entry
 */
export function failingWords(view, entry) {
  const { title, status } = entry.trouble;
  const apart = entry.act === "readings" && !entry.piece;
  return {
    head: `${withPlace(view, entry)}: the server could not keep this one. It says: ${title} (${status}).`,
    more: `It waits in this browser and is tried again by itself. ${
      apart ? "Readings of other places go on." : "What was done after it waits too, for the order matters."
    }`,
  };
}

/**
 * Entries that were set aside, each with what waits for it.
 * @param {import("./view.js").View} view
 * @returns {{key: string, words: string}[]}
 */
export function asideLines(view) {
  const aside = view.entries.filter(({ state }) => state === "aside");
  const keys = new Set(aside.map(({ key }) => key));
  return aside
    .filter(({ of }) => !(of && keys.has(of)))
    .map((entry) => {
      const { by, at } = entry.body;
      const back = aside.some((one) => one.of === entry.key && one.act === "taken-back") ? ", taken back" : "";
      return { key: entry.key, words: `${withPlace(view, entry)}${back}, by ${by}, ${at.slice(0, 10)} ${at.slice(11, 16)}` };
    });
}
