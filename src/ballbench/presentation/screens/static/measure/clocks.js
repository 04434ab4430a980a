/** How long things have gone on: the sitting, since the last instrument check, conditioning. Pure. */

import { isLeft } from "./cursor.js";
import { plural } from "./words.js";

const MINUTE = 60e3;

/** A time span in words: "under a minute", "24 min", "3 h 20 min", "2 days". @param {number} ms */
export function spanWords(ms) {
  const minutes = Math.floor(Math.max(ms, 0) / MINUTE);
  if (minutes < 1) {
    return "under a minute";
  }
  if (minutes < 60) {
    return `${minutes}\u00a0min`;
  }
  const hours = Math.floor(minutes / 60);
  if (hours >= 48) {
    return plural(Math.floor(hours / 24), "day");
  }
  return minutes % 60 ? `${hours}\u00a0h ${minutes % 60}\u00a0min` : `${hours}\u00a0h`;
}

/** Since a moment. @param {string} moment ISO 8601 @param {number} now ms */
export const since = (moment, now) => spanWords(now - Date.parse(moment));

/**
 * @typedef {object} Fact
 * @property {string} name
 * @property {string} label what it is, quietly; may be empty
 * @property {string} words
 */

/**
 * What is always in sight of the sitting.
 * @param {import("./view.js").View} view
 * @param {?import("./view.js").SeenPlace} hand
 * @param {number} now ms
 * @returns {Fact[]}
 */
export function factsOf(view, hand, now) {
  const { sitting } = view;
  const facts = readFacts(view);
  if (view.hidden) {
    facts.push({ name: "blind", label: "", words: view.test.blind ? "blind test" : "values hidden" });
  }
  if (sitting) {
    const kind = sitting.kind === "paper" ? "from paper, sitting" : "sitting";
    facts.push({ name: "sitting", label: `${kind} ${sitting.label || "new"}`, words: since(sitting.begun, now) });
    facts.push(...checkFact(view, hand, now));
  }
  const degrees = (label, value) =>
    value === null || value === undefined ? [] : [{ name: label, label, words: `${value.toFixed(1)}\u00a0°C` }];
  return [
    ...facts,
    ...degrees("air", sitting?.air_c),
    ...degrees("balls", sitting?.ball_c),
    ...ballFacts(view, hand, now),
  ];
}

/** "33 of 36 readings", and "2 of 3 instrument checks" apart, as on every other page. */
function readFacts(view) {
  const balls = view.places.filter((place) => place.ball !== null);
  const pieces = view.places.filter((place) => place.ball === null);
  const words = (places, one) => `${places.filter((place) => !isLeft(place)).length} of ${plural(places.length, one)}`;
  const checks = pieces.length > 0 ? [{ name: "checks", label: "", words: words(pieces, "instrument check") }] : [];
  return [{ name: "read", label: "", words: words(balls, "reading") }, ...checks];
}

/** When the instrument in hand was held against its reference piece last. */
function checkFact(view, hand, now) {
  const instrument = instrumentOf(view, hand);
  const has = [...view.bench.references.values()].some((piece) => piece.instrument === instrument);
  if (!instrument || !has) {
    return [];
  }
  const last = view.bench.checks.filter((check) => check.instrument === instrument).at(-1);
  if (!last) {
    return [{ name: "check", label: `${instrument} checked`, words: "not yet" }];
  }
  const label = `${instrument} ${last.passed ? "checked" : "failed its check"}`;
  return [{ name: last.passed ? "check" : "check failed", label, words: `${since(last.at, now)} ago` }];
}

/** Impacts and conditioning of the ball in hand. */
function ballFacts(view, hand, now) {
  const ball = hand?.ball ? view.bench.balls.get(hand.ball) : undefined;
  if (!ball) {
    return [];
  }
  const facts = [];
  if (ball.impacts > 0) {
    facts.push({ name: "impacts", label: `${ball.number} impacts`, words: String(ball.impacts) });
  }
  if (ball.conditioning_since) {
    const words = since(ball.conditioning_since, now);
    facts.push({ name: "conditioning", label: `${ball.number} conditioned`, words });
  }
  return facts;
}

/** Which instrument the place in hand takes. */
export function instrumentOf(view, hand) {
  if (!hand) {
    return "";
  }
  const piece = view.bench.references.get(hand.reference);
  return piece?.instrument ?? view.quantities.get(hand.quantity)?.instrument ?? "";
}
