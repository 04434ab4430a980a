/** The running picture: where the balls of each box lie against what is allowed, as they come in. Pure. */

import { standingReadings } from "./view.js";
import { withUnit } from "./words.js";

/**
 * @typedef {object} Dot one ball
 * @property {string} number
 * @property {number} value mean of its readings
 * @property {boolean} whole everything planned is read
 * @property {boolean} current
 * @property {""|"below"|"above"} outside beyond what is allowed
 *
 * @typedef {object} BoxRow
 * @property {string} name
 * @property {Dot[]} dots
 * @property {number} balls in the box
 *
 * @typedef {object} Running
 * @property {string} words of the quantity
 * @property {string} unit
 * @property {number} decimals
 * @property {[?number, ?number]} limits
 * @property {[number, number]} range of the axis
 * @property {BoxRow[]} rows
 */

/**
 * The picture of one quantity; null: it is a yes/no result, or nothing is known to draw.
 * @param {import("./view.js").View} view
 * @param {string} name of the quantity
 * @param {?number} current ball in hand
 * @returns {?Running}
 */
export function runningOf(view, name, current) {
  const quantity = view.quantities.get(name);
  if (!quantity || quantity.yes_no) {
    return null;
  }
  const rows = boxes(view).map(([box, balls]) => rowOf(view, quantity, box, balls, current));
  const values = rows.flatMap((row) => row.dots.map((dot) => dot.value));
  const range = rangeOf(quantity.limits, values);
  const { words, unit, decimals, limits } = quantity;
  return range && { words, unit, decimals, limits, range, rows };
}

/** Balls by box, in the order in which they lie in the tray. */
function boxes(view) {
  const groups = new Map();
  for (const ball of view.bench.balls.values()) {
    const name = [ball.make, ball.box].filter(Boolean).join(" ");
    groups.set(name, [...(groups.get(name) ?? []), ball]);
  }
  return [...groups];
}

function rowOf(view, quantity, name, balls, current) {
  const planned = quantity.axes.length * quantity.repeats;
  const dots = balls.flatMap((ball) => {
    const readings = standingReadings(view, { ball: ball.id, reference: null }).filter(
      (reading) => reading.quantity === quantity.name && reading.value !== null,
    );
    if (readings.length === 0) {
      return [];
    }
    const value = readings.reduce((sum, one) => sum + (one.corrected ?? one.value), 0) / readings.length;
    const outside = beyond(value, quantity.limits);
    return [{ number: ball.number, value, whole: readings.length >= planned, current: ball.id === current, outside }];
  });
  return { name, dots, balls: balls.length };
}

function beyond(value, [lower, upper]) {
  if (lower !== null && value < lower) {
    return "below";
  }
  return upper !== null && value > upper ? "above" : "";
}

/** The axis: limits and balls, with a little room on both sides. */
function rangeOf(limits, values) {
  const all = [...limits.filter((limit) => limit !== null), ...values];
  if (all.length === 0) {
    return null;
  }
  const [lowest, highest] = [Math.min(...all), Math.max(...all)];
  const room = highest > lowest ? 0.14 * (highest - lowest) : Math.abs(highest) * 0.01 || 1;
  return [lowest - room, highest + room];
}

/**
 * Dots at the same value stand above each other: the level of each, 0 in the middle, then 1, -1, 2, -2 ...
 * @param {number[]} places along the axis
 * @param {number} width of a dot
 * @returns {number[]}
 */
export function levels(places, width) {
  const taken = new Map();
  const order = places.map((_, i) => i).sort((one, other) => places[one] - places[other]);
  const found = new Array(places.length).fill(0);
  for (const i of order) {
    let level = 0;
    while ((taken.get(level) ?? -Infinity) > places[i] - width) {
      level = level > 0 ? -level : 1 - level;
    }
    taken.set(level, places[i]);
    found[i] = level;
  }
  return found;
}

/** A number as it is printed, with a true minus sign. @param {number} value @param {number} decimals */
export const printed = (value, decimals) => value.toFixed(decimals).replace("-", "\u2212");

/** What is allowed, in words. @param {Running} running */
export function allowedWords({ limits: [lower, upper], unit, decimals }) {
  const number = (value) => printed(value, decimals);
  if (lower !== null && upper !== null) {
    return `allowed ${number(lower)} to ${withUnit(number(upper), unit)}`;
  }
  if (lower !== null || upper !== null) {
    return `allowed ${lower === null ? "up to" : "from"} ${withUnit(number(lower ?? upper), unit)}`;
  }
  return "no limit for a single ball";
}

/** How many balls a row shows. @param {BoxRow} row */
export const countWords = (row) => `n = ${row.dots.length} of ${row.balls} balls`;
