/** Pictures of the tray: lines that fill, and shapes that tell what is to be known. */

import { spoke } from "./axes.js";
import { draw } from "./drawing.js";

const CENTRE = 26;
const RIM = 21;
const DISC = 11.5;
const LONG_DISC = 15.5; // three digits need more room

/**
 * A ball with its number.
 * @param {import("./tray.js").TrayPiece} piece
 */
export function ballPicture(piece) {
  const picture = draw("svg", { viewBox: "0 0 52 52", "aria-hidden": "true", focusable: "false" });
  const long = piece.label.length > 2;
  const disc = long ? LONG_DISC : DISC;
  picture.append(
    draw("circle", { class: "rim", cx: CENTRE, cy: CENTRE, r: RIM }),
    draw("circle", { class: "disc", cx: CENTRE, cy: CENTRE, r: disc }),
    ...piece.axes.flatMap((axis) => (piece.across ? lineAcross(axis, disc) : rowBelow(axis))),
    draw("circle", { class: "share", cx: CENTRE, cy: CENTRE, r: RIM, pathLength: 1, "stroke-dasharray": arc(piece) }),
    draw("text", { x: CENTRE, y: CENTRE, "data-long": long }, piece.label),
    ...marksOf(piece),
  );
  return picture;
}

/** A line across the ball, filled from the rim inwards; what waits here is dashed. */
function lineAcross({ angle, read, waiting, planned }, disc) {
  const inner = (count) => RIM - ((RIM - disc) * Math.min(count, planned)) / planned;
  const lines = [draw("path", { class: "left", d: spoke(CENTRE, RIM, disc, angle) })];
  if (waiting > 0) {
    lines.push(draw("path", { class: "waits", d: spoke(CENTRE, inner(read), inner(read + waiting), angle) }));
  }
  if (read > 0) {
    lines.push(draw("path", { class: "read", d: spoke(CENTRE, RIM, inner(read), angle) }));
  }
  return lines;
}

/** A quantity without axes: a bar below the number for every repeat. */
function rowBelow({ read, waiting, planned }) {
  const width = 18 / planned;
  return Array.from({ length: planned }, (_, i) => {
    const state = i < read ? "read" : i < read + waiting ? "waits" : "left";
    const start = CENTRE - 9 + i * width + (i > 0 ? 0.8 : 0);
    const end = CENTRE - 9 + (i + 1) * width - (i < planned - 1 ? 0.8 : 0);
    return draw("path", { class: state, d: `M${start} 40H${end}` });
  });
}

const arc = ({ share }) => `${share.toFixed(3)} 1`;

/**
 * A reference piece: two rings, and between them a dot for every planned check.
 * @param {import("./tray.js").TrayPiece} piece
 */
export function referencePicture(piece) {
  const picture = draw("svg", { viewBox: "0 0 52 52", "aria-hidden": "true", focusable: "false" });
  picture.append(
    draw("circle", { class: "rim", cx: CENTRE, cy: CENTRE, r: RIM }),
    draw("circle", { class: "rim inner", cx: CENTRE, cy: CENTRE, r: 13 }),
  );
  piece.checks.forEach((state, i) => {
    const turn = (2 * Math.PI * i) / piece.checks.length - Math.PI / 2;
    const [x, y] = [CENTRE + 17 * Math.cos(turn), CENTRE + 17 * Math.sin(turn)];
    picture.append(
      state === "failed"
        ? draw("path", { class: "failed", d: `M${x - 2.5} ${y - 2.5}l5 5m0 -5l-5 5` })
        : draw("circle", { class: state === "read" ? "dot" : "dot open", cx: x, cy: y, r: 2.4 }),
    );
  });
  picture.append(draw("text", { x: CENTRE, y: CENTRE }, piece.label), ...marksOf(piece));
  return picture;
}

/** What is told by a shape: the ring of the ball in hand, a flag above, the holder's initial below. */
function marksOf(piece) {
  const marks = [];
  if (piece.current) {
    marks.push(draw("circle", { class: "hand", cx: CENTRE, cy: CENTRE, r: 24.4 }));
  }
  if (piece.flag) {
    marks.push(flagPicture(piece.flag));
  }
  if (piece.holder) {
    marks.push(
      draw("circle", { class: "holder", cx: 43, cy: 43, r: 8.5 }),
      draw("text", { class: "initial", x: 43, y: 43, "data-long": piece.holder.length > 1 }, piece.holder),
    );
  }
  return marks;
}

const SHAPES = {
  later: [draw("circle", { r: 8 }), draw("path", { d: "M-2.5 4.5L2.5 -4.5" })],
  again: [
    draw("path", { class: "shape", d: "M0 -9.5L9.5 0L0 9.5L-9.5 0Z" }),
    draw("path", { d: "M3.6 -1.6A4 4 0 1 0 4 1.2M4.4 -4.4L3.8 -1.2L.8 -2" }),
  ],
  asked: [draw("path", { class: "shape", d: "M-8 -8H8V8H-8Z" }), draw("text", { x: 0, y: 0 }, "?")],
  doubt: [draw("path", { class: "shape", d: "M0 -9.5L9.5 8H-9.5Z" }), draw("path", { d: "M0 -4.5V2M0 4.2V5.8" })],
};

/** A circle: put off. A diamond: once more. A square: asked about. A triangle: in doubt. */
function flagPicture(flag) {
  const group = draw("g", { class: `flag ${flag}`, transform: "translate(42.5 9.5)" });
  group.append(...SHAPES[flag].map((part) => part.cloneNode(true)));
  return group;
}
