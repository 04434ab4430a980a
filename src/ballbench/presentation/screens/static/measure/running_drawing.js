/** Draws the running picture: every ball a dot, what is allowed a band, n printed; and the same as a table. */

import { draw, make } from "./drawing.js";
import { allowedWords, countWords, levels, printed } from "./running.js";
import { standingReadings } from "./view.js";
import { readingText, unitWords, withUnit } from "./words.js";

const DOT = 5;
const STEP = 11; // from one dot to the next above it
const HEAD = 24; // for the words of a row
const FOOT = 22; // for the numbers of the limits

/**
 * @param {import("./running.js").Running} running
 * @param {number} width
 * @returns {SVGElement}
 */
export function runningPicture(running, width) {
  const at = (value) => 10 + ((width - 20) * (value - running.range[0])) / (running.range[1] - running.range[0]);
  const rows = running.rows.map((row) => placed(row, at));
  const height = rows.reduce((sum, row) => sum + row.height, 0) + FOOT;
  const label = `${running.words}, ${allowedWords(running)}. ${running.rows.map(rowWords).join(". ")}`;
  const picture = draw("svg", { viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": label });
  let top = 0;
  for (const row of rows) {
    picture.append(...band(running, at, width, top + HEAD, top + row.height), ...rowPicture(row, top));
    top += row.height;
  }
  picture.append(...numbers(running, at, width, top));
  return picture;
}

const rowWords = (row) => {
  const beyond = row.dots.filter((dot) => dot.outside).map((dot) => dot.number);
  const said = beyond.length > 0 ? `beyond it: ${beyond.join(", ")}` : "none beyond it";
  return `${row.name ? `${row.name}: ` : ""}${countWords(row)}, ${said}`;
};

function placed(row, at) {
  const places = row.dots.map((dot) => at(dot.value));
  const stacked = levels(places, 2 * DOT + 1);
  const reach = Math.max(1, ...stacked.map(Math.abs));
  return { ...row, places, stacked, reach, height: HEAD + STEP * (2 * reach + 1) + 2 };
}

function rowPicture(row, top) {
  const middle = top + HEAD + STEP * (row.reach + 0.5);
  const words = [row.name, countWords(row)].filter(Boolean).join(" · ");
  const dots = row.dots.flatMap((dot, i) => {
    const [cx, cy] = [row.places[i], middle - STEP * row.stacked[i]];
    const shown = [draw("circle", { class: dot.whole ? "dot" : "dot part", cx, cy, r: DOT })];
    if (dot.current) {
      shown.push(draw("circle", { class: "hand", cx, cy, r: DOT + 3.5 }));
    }
    if (dot.outside) {
      const left = dot.outside === "below";
      const beside = { x: cx + (left ? -9 : 9), y: cy + 4.5, "text-anchor": left ? "end" : "start" };
      shown.push(draw("text", { class: "outside", ...beside }, dot.number));
    }
    return shown;
  });
  return [draw("text", { class: "row", x: 0, y: top + 15 }, words), ...dots];
}

/** What is allowed: the band between its limit lines. */
function band({ limits: [lower, upper] }, at, width, top, bottom) {
  if (lower === null && upper === null) {
    return [];
  }
  const [left, right] = [lower === null ? 0 : at(lower), upper === null ? width : at(upper)];
  const lines = [lower, upper].filter((limit) => limit !== null);
  return [
    draw("rect", { class: "allowed", x: left, y: top, width: right - left, height: bottom - top }),
    ...lines.map((limit) => draw("path", { class: "limit", d: `M${at(limit)} ${top - 3}V${bottom + 3}` })),
  ];
}

/** The numbers of the limits below the last row. */
function numbers({ limits: [lower, upper], unit, decimals }, at, width, bottom) {
  const lines = [lower, upper].filter((limit) => limit !== null);
  return lines.map((limit) => {
    const x = at(limit);
    const number = printed(limit, decimals);
    const words = limit === lines.at(-1) ? withUnit(number, unit) : number;
    const anchor = x > width - 40 ? "end" : x < 40 ? "start" : "middle";
    return draw("text", { class: "number", x, y: bottom + 18, "text-anchor": anchor }, words);
  });
}

/**
 * The readings behind the picture, a row a ball.
 * @param {import("./view.js").View} view
 * @param {import("./records.js").PlannedQuantity} quantity
 */
export function runningTable(view, quantity) {
  const heads = ["ball", ...quantity.axes.map((axis) => axis || quantity.words)];
  const rows = [...view.bench.balls.values()].map((ball) => {
    const readings = standingReadings(view, { ball: ball.id, reference: null });
    const cells = quantity.axes.map((axis) =>
      readings
        .filter((one) => one.quantity === quantity.name && one.axis === axis)
        .map((one) => one.corrected_text || readingText(view, one))
        .join(", "),
    );
    const head = make("th", { scope: "row" }, ball.number);
    return make("tr", {}, head, ...cells.map((text) => make("td", {}, text || "–")));
  });
  const head = make("tr", {}, ...heads.map((text) => make("th", { scope: "col" }, text)));
  const unit = unitWords(quantity.unit);
  const caption = `${quantity.words} as read${unit ? `, ${unit}` : ""}`;
  return make("table", {}, make("caption", {}, caption), make("thead", {}, head), make("tbody", {}, ...rows));
}
