/** Draws the ball in hand: its axes as lines that fill, and the way it is measured, where it is measured next. */

import { axisFills, isAcross, spoke, way } from "./axes.js";
import { draw } from "./drawing.js";

const SIZE = 340;
const CENTRE = SIZE / 2;
const RIM = 126;
const INNER = 26; // lines end before the number that is typed between them

/**
 * @typedef {object} Hand what is drawn
 * @property {boolean} reference
 * @property {import("./axes.js").Way} way
 * @property {import("./axes.js").AxisFill[]} axes
 * @property {number} now which axis is measured now; -1: none
 * @property {number} read readings of the place's axis that are kept or wait here
 * @property {number} planned
 * @property {boolean} seam
 * @property {string} person who is to read it; empty: anybody
 * @property {boolean} turned the ball is turned in the jaws for the largest or smallest
 */

/**
 * What is drawn of a place.
 * @param {import("./view.js").View} view
 * @param {import("./view.js").SeenPlace} place
 * @returns {Hand}
 */
export function handOf(view, place) {
  const quantity = view.quantities.get(place.quantity);
  const reference = place.reference !== null;
  const axes = reference || !quantity ? [] : axisFills(view, quantity, place.ball);
  const now = axes.findIndex((axis) => axis.axis === place.axis);
  const own = axes[now];
  return {
    reference,
    way: quantity ? way(quantity) : "plain",
    axes,
    now: reference ? -1 : now,
    read: own ? own.read + own.waiting : 0,
    planned: own ? own.planned : 1,
    seam: axes.some((axis) => /seam/i.test(axis.axis)),
    turned: / found$/.test(place.axis),
    person: place.person ?? "",
  };
}

/** Draw it anew. @param {SVGElement} picture @param {Hand} hand */
export function drawHand(picture, hand) {
  picture.replaceChildren(
    ...around(hand),
    draw("circle", { class: "skin", cx: CENTRE, cy: CENTRE, r: RIM }),
    ...(hand.reference ? pieceMarks(hand) : []),
    ...(hand.seam ? [seam()] : []),
    ...hand.axes.flatMap((axis, i) => axisPicture(axis, i === hand.now, hand)),
    ...(hand.turned ? [turn(angleOf(hand))] : []),
    ...(hand.way === "tape" ? [tape(angleOf(hand))] : []),
    ...repeats(hand),
    ...(hand.person ? [draw("text", { class: "person", x: 2, y: 38 }, `for ${hand.person}`)] : []),
  );
}

/** The direction in which the jaws stand. @param {Hand} hand */
const angleOf = (hand) => (hand.now >= 0 ? hand.axes[hand.now].angle : 90);

/** A reference piece has a second ring, and one line through it where it is held in jaws. */
function pieceMarks({ way: taken }) {
  const ring = draw("circle", { class: "skin second", cx: CENTRE, cy: CENTRE, r: RIM - 11 });
  return taken === "jaws" ? [ring, draw("path", { class: "now", d: spoke(CENTRE, RIM, INNER, 90) })] : [ring];
}

/** Where the two halves of the skin meet, bent as a line round the ball is seen. */
function seam() {
  const [left, right] = [CENTRE - RIM, CENTRE + RIM];
  const path = `M${left} ${CENTRE}A${RIM} 62 0 0 0 ${right} ${CENTRE}`;
  return draw("path", { class: "seam", d: path });
}

function axisPicture({ axis, angle, read, waiting, planned }, now, hand) {
  if (!isAcross(hand.way)) {
    return [];
  }
  const inner = (count) => RIM - ((RIM - INNER) * Math.min(count, planned)) / planned;
  const lines = [draw("path", { class: now ? "now" : "left", d: spoke(CENTRE, RIM, INNER, angle) })];
  if (waiting > 0) {
    lines.push(draw("path", { class: "waits", d: spoke(CENTRE, inner(read), inner(read + waiting), angle) }));
  }
  if (read > 0) {
    lines.push(draw("path", { class: "read", d: spoke(CENTRE, RIM, inner(read), angle) }));
  }
  return axis && !now ? [...lines, axisName(axis, angle, read >= planned)] : lines;
}

/** The name of an axis at its left or upper end. */
function axisName(axis, angle, done) {
  const turn = ((angle > 90 ? angle - 180 : angle) * Math.PI) / 180 + Math.PI;
  const [x, y] = [Math.cos(turn), Math.sin(turn)];
  const anchor = x < -0.3 ? "end" : "middle";
  const most = anchor === "end" ? 9 : 18;
  const name = axis.length > most ? `${axis.slice(0, most - 1)}…` : axis;
  const place = { x: CENTRE + (RIM + 9) * x, y: CENTRE + (RIM + 15) * y };
  return draw("text", { class: "axis-name", "text-anchor": anchor, "data-done": done, ...place }, name);
}

/** A dot for every repeat of this axis: filled as they are read. */
function repeats({ planned, read, reference }) {
  if (planned < 2 || reference) {
    return [];
  }
  const start = CENTRE - 8 * (planned - 1);
  return Array.from({ length: planned }, (_, i) =>
    draw("circle", { class: i < read ? "repeat read" : "repeat", cx: start + 16 * i, cy: CENTRE + 66, r: 4.5 }),
  );
}

/** What holds the ball, weighs it, lets it fall or lets it roll: drawn behind it. */
function around(hand) {
  const drawn = { jaws: () => [jaws(angleOf(hand))], pan, drop, aside };
  return drawn[hand.way]?.() ?? [];
}

/** Two jaws that touch the ball at both ends of the axis. */
function jaws(angle) {
  const near = CENTRE - RIM - 1;
  const face = `M${CENTRE - 50} ${near}H${CENTRE + 50}q3 0 3 -3v-4q0 -3 -3 -3H${CENTRE - 50}q-3 0 -3 3v4q0 3 3 3Z`;
  const jaw = `${face}M${CENTRE - 22} ${near - 9}H${CENTRE + 22}L${CENTRE + 13} ${near - 24}H${CENTRE - 13}Z`;
  const group = draw("g", { class: "jaws", transform: `rotate(${angle - 90} ${CENTRE} ${CENTRE})` });
  group.append(
    draw("path", { d: jaw }),
    draw("path", { d: jaw, transform: `rotate(180 ${CENTRE} ${CENTRE})` }),
  );
  return group;
}

/** That the ball is turned between the jaws: an arrow along its rim, midway between them. */
function turn(angle) {
  const radius = RIM - 15;
  const [x, y] = [CENTRE + radius * Math.cos(0.5), radius * Math.sin(0.5)];
  const arc = `M${x} ${CENTRE - y}A${radius} ${radius} 0 0 1 ${x} ${CENTRE + y}`;
  const path = `${arc}m-2 -11l2 11l10 -5`;
  return draw("path", { class: "turn", d: path, transform: `rotate(${angle - 90} ${CENTRE} ${CENTRE})` });
}

/** The pan of a scale below the ball. */
function pan() {
  const top = CENTRE + RIM;
  const dish = `M${CENTRE - 110} ${top}H${CENTRE + 110}L${CENTRE + 92} ${top + 11}H${CENTRE - 92}Z`;
  const foot = `M${CENTRE - 20} ${top + 11}H${CENTRE + 20}L${CENTRE + 30} ${top + 24}H${CENTRE - 30}Z`;
  return [draw("path", { class: "stand", d: foot }), draw("path", { class: "dish", d: dish })];
}

/** The floor below, and beside it the way down and up. */
function drop() {
  const floor = CENTRE + RIM + 16;
  const x = CENTRE + RIM + 28;
  return [
    draw("path", { class: "dish", d: `M10 ${floor}H${SIZE - 6}V${floor + 6}H10Z` }),
    draw("path", { class: "fall", d: `M${x} 46V${floor}` }),
    draw("circle", { class: "released", cx: x, cy: 36, r: 8 }),
    draw("path", { class: "rise", d: `M${x} ${floor - 4}V${CENTRE + 58}m-7 10l7 -11l7 11` }),
  ];
}

/** The straight way ahead, and the drift from it. */
function aside() {
  const top = CENTRE - RIM;
  return [
    draw("path", { class: "fall", d: `M${CENTRE} ${top}V22` }),
    draw("path", { class: "rise", d: `M${CENTRE + 4} 30H${CENTRE + 62}m-10 -7l10 7l-10 7` }),
  ];
}

/** A tape round the ball, over its front. */
function tape(angle) {
  const d = `M${CENTRE - RIM} ${CENTRE}A${RIM} 84 0 0 0 ${CENTRE + RIM} ${CENTRE}`;
  return draw("path", { class: "tape", d, transform: `rotate(${angle} ${CENTRE} ${CENTRE})` });
}
