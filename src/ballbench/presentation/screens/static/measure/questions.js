/** What is to be answered by the person here: entries that were asked about, and what the server refused. Pure. */

import { isForAnother, moreWords, questionWords } from "./gate.js";
import { placeShort, unitWords, withUnit } from "./words.js";

/**
 * @typedef {object} ToAnswer
 * @property {string} key
 * @property {"asked"|"held"|"refused"} kind held: asked about at this desk, while no server could
 * @property {?number} place
 * @property {string} text as it was typed
 * @property {string} head what is asked
 * @property {string} more what can be done
 * @property {string} at
 * @property {boolean} [again] it may be sent once more as it is
 */

const ACTS = {
  "taken-back": "Taking a reading back",
  spoiled: "Spoiled",
  later: "Later",
  again: "Reading again",
  sittings: "Beginning a sitting",
  "sittings/end": "Ending the sitting",
};

/**
 * Everything to be answered, oldest first.
 * @param {import("./view.js").View} view
 * @param {string} me
 * @param {Set<string>} cleared keys that were cleared here
 * @returns {ToAnswer[]}
 */
export function toAnswer(view, me, cleared) {
  const busy = new Set(
    view.entries
      .filter(({ act, state }) => state === "waiting" && (act === "readings" || act === "spoiled"))
      .map(({ body }) => body.place),
  );
  const asked = [...view.bench.questions.values()]
    .filter((question) => question.by === me && !cleared.has(question.key) && !busy.has(question.place))
    .filter((question) => view.placeById.has(question.place))
    .map((question) => askedLine(view, question, "asked"));
  const held = view.entries
    .filter(({ state, body }) => state === "held" && body.by === me)
    .map(({ key, body }) => askedLine(view, { key, why: "", ...body }, "held"));
  const refused = view.entries.filter(({ state }) => state === "refused").map((entry) => refusedLine(view, entry));
  return [...asked, ...held, ...refused].sort((one, other) => Date.parse(one.at) - Date.parse(other.at));
}

function askedLine(view, { key, place: id, text, unit: typed = "", why, at }, kind) {
  const place = view.placeById.get(id);
  const quantity = view.quantities.get(place.quantity);
  const piece = place.reference !== null;
  const unit = unitWords(typed || (quantity?.unit ?? ""));
  const shown = unit && !/[a-z"]\s*$/i.test(text) ? `${text.trim()} ${unit}` : text.trim();
  const tool = quantity?.instrument || "instrument";
  const kept = isForAnother(why)
    ? "Type it once more to keep it as yours, or hand over."
    : `Type it once more to keep it as read, or type what the ${tool} shows.`;
  const more = [kept, moreWords(why, view.hidden && !piece)];
  const head = questionWords(shown, why, piece);
  return { key, kind, place: id, text, head, more: more.filter(Boolean).join(" "), at };
}

/** What an entry of the queue is, short: “42.70”, "Beginning a sitting". @param {import("./records.js").Entry} entry */
export const actWords = ({ act, body }) =>
  act === "readings" ? `“${body.text.trim()}”` : (ACTS[act] ?? `Noting ${body.kind ?? act}`);

function refusedLine(view, entry) {
  const { key, act, body, faults, status } = entry;
  const place = view.placeById.get(body.place);
  const head = `${actWords(entry)} was not kept${place && act !== "readings" ? ` for ${placeShort(view, place)}` : ""}.`;
  const more = faults.map((fault) => `Found ${fault.found}; allowed: ${fault.allowed}. What to do: ${fault.todo}.`);
  const { place: id = null, text = "", at } = body;
  return { key, kind: "refused", place: id, text, head, more: more.join(" "), at, again: !text || status === 409 };
}

/**
 * What a failed instrument check says; empty: the last check passed, or there was none.
 * @param {import("./view.js").View} view
 * @param {import("./records.js").Check} check
 */
export function failedWords(view, check) {
  const quantity = [...view.quantities.values()].find((one) => one.instrument === check.instrument);
  const decimals = Math.max(quantity?.decimals ?? 2, 1);
  const number = (value, more = 0) => withUnit(value.toFixed(decimals + more), check.unit);
  const doubt =
    check.touched === 0
      ? "No reading since the last good check is touched."
      : `${check.touched} ${check.touched === 1 ? "reading" : "readings"} since the last good check ${
          check.touched === 1 ? "is" : "are"
        } in doubt, and marked.`;
  return (
    `The ${check.instrument} failed its check: it read the ${check.reference} as ${number(check.value)}; ` +
    `that is ${number(check.known, 1)}, and up to ${number(check.allowed, 1)} off is allowed. ${doubt}`
  );
}
