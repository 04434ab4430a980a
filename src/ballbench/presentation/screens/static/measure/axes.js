/** Where the axes of a ball are drawn, and how far each is read. Pure. */

const KNOWN = new Map([["seam", 0], ["across", 90], ["pole", 90], ["free", 45]]);

/**
 * The direction of every axis in a drawing: degrees clockwise from a line across, 0 to 180. The trade's own names lie
 * where they lie on the ball; any other is put into the widest gap.
 * @param {string[]} axes
 * @returns {number[]}
 */
export function directions(axes) {
  if (axes.every((axis) => !KNOWN.has(axis.trim().toLowerCase()))) {
    return axes.map((_, i) => (axes.length === 1 ? 90 : (180 * i) / axes.length));
  }
  const placed = [];
  const known = axes.map((axis) => KNOWN.get(axis.trim().toLowerCase()));
  const free = (angle) => angle !== undefined && !placed.includes(angle);
  const angles = known.map((angle) => (free(angle) ? placed[placed.push(angle) - 1] : null));
  return angles.map((angle) => angle ?? placed[placed.push(widestGap(placed)) - 1]);
}

/** The middle of the widest gap between directions, where 180 is 0 again. */
function widestGap(placed) {
  const sorted = [...placed].sort((one, other) => one - other);
  const gaps = sorted.map((angle, i) => ({ angle, width: (sorted[i + 1] ?? sorted[0] + 180) - angle }));
  const widest = gaps.reduce((best, gap) => (gap.width > best.width ? gap : best));
  return (widest.angle + widest.width / 2) % 180;
}

/**
 * @typedef {object} AxisFill
 * @property {string} axis
 * @property {number} angle
 * @property {number} read places that hold a reading
 * @property {number} waiting places whose reading waits here
 * @property {number} planned
 */

/**
 * How far every axis of one quantity is read on one ball.
 * @param {import("./view.js").View} view
 * @param {import("./records.js").PlannedQuantity} quantity
 * @param {number} ball
 * @returns {AxisFill[]}
 */
export function axisFills(view, quantity, ball) {
  const angles = directions(quantity.axes);
  const places = view.places.filter((place) => place.ball === ball && place.quantity === quantity.name);
  return quantity.axes.map((axis, i) => {
    const own = places.filter((place) => place.axis === axis);
    return {
      axis,
      angle: angles[i],
      read: own.filter((place) => place.filled).length,
      waiting: own.filter((place) => !place.filled && place.waiting).length,
      planned: own.length,
    };
  });
}

/**
 * Both halves of a line through a centre, from a rim inwards, as a path.
 * @param {number} centre
 * @param {number} outer
 * @param {number} inner
 * @param {number} angle degrees
 */
export function spoke(centre, outer, inner, angle) {
  const radians = (angle * Math.PI) / 180;
  const [x, y] = [Math.cos(radians), Math.sin(radians)];
  const at = (radius) => `${(centre + radius * x).toFixed(1)} ${(centre + radius * y).toFixed(1)}`;
  return `M${at(-outer)}L${at(-inner)}M${at(inner)}L${at(outer)}`;
}

/** @typedef {"jaws"|"tape"|"pan"|"drop"|"aside"|"question"|"plain"} Way */

/** @type {Map<string, Way>} */
const WAYS = new Map([
  ["diameter", "jaws"],
  ["hardness", "jaws"],
  ["deformation", "jaws"],
  ["circumference", "tape"],
  ["mass", "pan"],
  ["rebound", "drop"],
  ["bounce_restitution", "drop"],
  ["veer", "aside"],
]);

/**
 * How a quantity is taken, as it is drawn.
 * @param {import("./records.js").PlannedQuantity} quantity
 * @returns {Way}
 */
export function way(quantity) {
  if (quantity.yes_no) {
    return "question";
  }
  const known = WAYS.get(quantity.name) ?? (quantity.unit === "g" ? "pan" : "plain");
  return known === "plain" && quantity.axes.length > 1 ? "jaws" : known;
}

/** Whether its places are lines across the ball. @param {Way} taken */
export const isAcross = (taken) => taken === "jaws" || taken === "tape";
