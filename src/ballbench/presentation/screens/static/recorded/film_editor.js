/**
 * Mend what was seen in a film: one picture is in hand, chosen on the drawing by mouse or finger, by keys or buttons; it
 * is left out, or the ball is put where it is. What it tells is worked out on the server after every change.
 */

import { drawFilm, drawPlace, layout, nearest } from "./film_drawing.js";
import { LEFT_OUT, carried, marksOf, moveOf, nearestInTime, nextInDoubt, placed, sentOf, stepTo, withFound } from "./film_marks.js";

const QUIET_MS = 350;
const HIGH = 340;

const part = document.getElementById("film-part");
const film = document.getElementById("film");
const picture = document.getElementById("film-picture");
const at = document.getElementById("film-at");
const said = document.getElementById("film-said");
const piece = document.getElementById("piece");
const piecePicture = document.getElementById("piece-picture");
const pieceWords = document.getElementById("piece-words");
const leave = document.getElementById("film-leave");
const undo = document.getElementById("film-undo");
const doubt = document.getElementById("film-doubt");
const reset = document.getElementById("film-reset");

let view = null;
let marks = new Map();
let hand = 0;
let waiting = null;
let pending = false;
let dragging = null;
let told = () => {};

// What stands of each picture ----------------------------------------------------------------------------------------

/** What a picture's place is now: what the server said, unless it was marked, or its mark taken away, since. */
function lookOf(k) {
  const mark = marks.get(k);
  if (mark?.out) return "left out";
  if (mark) return "by hand";
  const look = view.pictures[k].look;
  return look === "left out" || look === "by hand" ? "used" : look;
}

function placeOf(k) {
  const mark = marks.get(k);
  return mark && !mark.out ? mark : view.pictures[k];
}

/** Whether the server's numbers are of the place as it stands. */
function isKnown(k) {
  const one = view.pictures[k];
  const mark = marks.get(k);
  if (mark && !mark.out) return one.look === "by hand" && Math.abs(one.x - mark.x) < 0.006 && Math.abs(one.y - mark.y) < 0.006;
  return one.look !== "by hand";
}

const WORDS = {
  used: "counts", doubted: "left out by the program", "by hand": "put there by hand", "left out": "left out by hand",
  "not used": "not used: no ball, or the picture before once more",
};

function saidOf(k) {
  const one = view.pictures[k];
  const parts = [`Picture ${k + 1} of ${view.pictures.length}: ${one.time.toFixed(4)} s`];
  const look = lookOf(k);
  if (!isKnown(k)) parts.push("moved");
  else if (one.off !== null) {
    parts.push(`${one.height.toFixed(1)} mm high`);
    parts.push(`${Math.abs(one.off).toFixed(2)} mm ${one.off < 0 ? "below" : "above"} the flights`);
  }
  return `${parts.join(", ")}; ${WORDS[look]}`.replaceAll("-", "−");
}

// Drawing ------------------------------------------------------------------------------------------------------------

function drawn() {
  return layout(view, Math.max(film.clientWidth, 200), HIGH);
}

function drawPiece() {
  const one = view.pictures[hand];
  piece.hidden = pieceWords.hidden = !one.piece;
  for (const button of document.querySelectorAll("[data-move-px]")) button.disabled = !one.piece;
  if (!one.piece) return;
  const look = lookOf(hand);
  drawPlace(piecePicture, one.piece, placeOf(hand), view.breadth, look === "left out" ? "out" : look === "by hand" ? "hand" : "");
  pieceWords.textContent = `The ball in picture ${hand + 1}, magnified. The ring is as wide as the ball: drag it, or move it with the arrow keys or the buttons.`;
}

function draw() {
  const looks = view.pictures.map((_, k) => lookOf(k));
  drawFilm(picture, view, drawn(), looks, hand);
  const words = saidOf(hand);
  at.textContent = words;
  film.setAttribute("aria-valuemax", view.pictures.length);
  film.setAttribute("aria-valuenow", hand + 1);
  film.setAttribute("aria-valuetext", words);
  const mark = marks.get(hand);
  leave.disabled = Boolean(mark?.out) || looks[hand] === "not used";
  undo.disabled = !mark;
  reset.disabled = !marks.size && !view.mended;
  doubt.disabled = nextInDoubt(view.pictures, marks, hand) < 0;
  drawPiece();
}

/** How many of the pictures count, and how many are in doubt. */
function sayAll() {
  const many = (test) => view.pictures.filter((one, k) => test(one, k)).length;
  const counts = many((_, k) => ["used", "by hand"].includes(lookOf(k)));
  const doubted = many((one, k) => one.doubt && !marks.get(k)?.out);
  const parts = [`${counts} of ${view.pictures.length} pictures count`];
  parts.push(doubted ? `${doubted} ${doubted === 1 ? "is" : "are"} in doubt` : "none is in doubt");
  if (marks.size) parts.push(`${marks.size} ${marks.size === 1 ? "was" : "were"} marked by hand`);
  document.getElementById("film-words").textContent = `${parts.join("; ")}.`;
}

// Changing -----------------------------------------------------------------------------------------------------------

function choose(k) {
  hand = k;
  draw();
}

/** A film takes some seconds: it is said that something goes on. */
function tell(sent) {
  said.textContent = "It is being worked out anew.";
  told(sent);
}

function ask() {
  said.textContent = "";
  clearTimeout(waiting);
  pending = true;
  waiting = setTimeout(() => {
    pending = false;
    tell(sentOf(marks, view.pictures));
  }, QUIET_MS);
}

function mark(k, what) {
  if (what === null) marks.delete(k);
  else marks.set(k, what);
  sayAll();
  draw();
  ask();
}

function leaveOut() {
  if (marks.get(hand)?.out) mark(hand, null);
  else if (lookOf(hand) !== "not used") mark(hand, LEFT_OUT);
}

function moveBy(across, down) {
  const from = placeOf(hand);
  if (view.pictures[hand].piece) mark(hand, placed(from.x + across, from.y + down));
}

film.addEventListener("keydown", (event) => {
  if (!view || event.altKey || event.ctrlKey || event.metaKey) return;
  const next = stepTo(event, hand, view.pictures.length);
  if (next !== null) choose(next);
  else if (event.key === "Delete" || event.key === "Backspace") leaveOut();
  else if (event.key === "n" || event.key === "N") goToDoubt();
  else return;
  event.preventDefault();
});

piece.addEventListener("keydown", (event) => {
  if (!view || event.altKey || event.ctrlKey || event.metaKey) return;
  const way = moveOf(event);
  if (way) moveBy(...way);
  else if (event.key === "Delete" || event.key === "Backspace") leaveOut();
  else return;
  event.preventDefault();
});

function goToDoubt() {
  const next = nextInDoubt(view.pictures, marks, hand);
  if (next >= 0) choose(next);
}

// Pointing -----------------------------------------------------------------------------------------------------------

function pointed(event, across) {
  const box = film.getBoundingClientRect();
  choose(nearest(view, drawn(), event.clientX - box.left, event.clientY - box.top, across));
}

film.addEventListener("pointerdown", (event) => {
  if (!view) return;
  dragging = { ground: film, from: event.clientX };
  film.setPointerCapture(event.pointerId);
  pointed(event, false);
});
film.addEventListener("pointermove", (event) => {
  if (dragging?.ground === film && Math.abs(event.clientX - dragging.from) >= 6) pointed(event, true);
});

/** The ring goes with the hand, by the same way over the magnified picture. */
piece.addEventListener("pointerdown", (event) => {
  if (!view?.pictures[hand].piece) return;
  const from = placeOf(hand);
  const scale = view.pictures[hand].piece.side / piece.clientWidth;
  dragging = { ground: piece, scale, x: event.clientX, y: event.clientY, from: { x: from.x, y: from.y } };
  piece.setPointerCapture(event.pointerId);
});
piece.addEventListener("pointermove", (event) => {
  if (dragging?.ground !== piece) return;
  const [across, down] = [event.clientX - dragging.x, event.clientY - dragging.y];
  if (Math.hypot(across, down) < 2 && !dragging.moved) return;
  dragging.moved = true;
  mark(hand, placed(dragging.from.x + across * dragging.scale, dragging.from.y + down * dragging.scale));
});
for (const ground of [film, piece]) {
  for (const over of ["pointerup", "pointercancel"]) ground.addEventListener(over, () => { dragging = null; });
}

for (const button of document.querySelectorAll("[data-step]")) {
  button.addEventListener("click", () => {
    choose(Math.min(Math.max(hand + Number(button.dataset.step), 0), view.pictures.length - 1));
  });
}
for (const button of document.querySelectorAll("[data-move-px]")) {
  button.addEventListener("click", () => moveBy(...button.dataset.movePx.split(" ").map(Number)));
}
leave.addEventListener("click", leaveOut);
undo.addEventListener("click", () => mark(hand, null));
doubt.addEventListener("click", goToDoubt);
reset.addEventListener("click", () => {
  marks = new Map();
  sayAll();
  draw();
  clearTimeout(waiting);
  pending = false;
  tell(null);
});
new ResizeObserver(() => {
  if (view) draw();
}).observe(film);

// The way in ---------------------------------------------------------------------------------------------------------

/** Whether what is told is of the marks as they stand. */
export function isFilmSettled() {
  return !pending && dragging === null;
}

/**
 * Show what was seen. `onChange` is told changed marks, or null for what the program finds by itself. What somebody
 * changed meanwhile is not overwritten.
 */
export function showFilm(next, onChange, { fresh }) {
  told = onChange;
  const moving = !fresh && (pending || dragging !== null);
  const before = fresh ? null : view;
  view = before ? { ...next, pictures: withFound(next.pictures, before.pictures) } : next;
  marks = moving ? carried(marks, before.pictures, view.pictures) : marksOf(next.pictures);
  if (fresh || !before) hand = Math.max(0, nextInDoubt(view.pictures, marks, -1));
  else hand = nearestInTime(view.pictures, before.pictures[hand].time);
  part.hidden = false;
  sayAll();
  draw();
}

export function sayFilm(words) {
  said.textContent = view ? words : "";
}

export function hideFilm() {
  clearTimeout(waiting);
  pending = false;
  view = null;
  part.hidden = true;
}
