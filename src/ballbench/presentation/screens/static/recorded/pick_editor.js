/**
 * Mend what was heard: each impact is a slider over the sound, moved by mouse, finger or keys, and a magnified piece of
 * the sound around the one in hand. What it tells is worked out on the server after every change.
 */

import { added, begun, moved, removed, room, stepOf } from "./picks.js";
import { between, drawWave } from "./waveform.js";

const QUIET_MS = 350;
const BEFORE_S = 0.08;
const AFTER_S = 0.25;

const part = document.getElementById("mend-part");
const wave = document.getElementById("wave");
const picture = document.getElementById("wave-picture");
const close = document.getElementById("close");
const closePart = document.getElementById("close-part");
const closePicture = document.getElementById("close-picture");
const closeLine = document.getElementById("close-line");
const cursor = document.getElementById("wave-cursor");
const drops = document.getElementById("drops");
const at = document.getElementById("pick-at");
const said = document.getElementById("mend-said");
const reset = document.getElementById("pick-reset");

let view = null;
let picks = [];
let hand = { drop: 0, impact: 0 };
let wish = null;
let waiting = null;
let pending = false;
let dragging = null;
let told = () => {};

function seconds(time) {
  return `${time.toFixed(4)} s`;
}

/** What was last said of a pick by the server: how sure it is, and whether the program found it. */
function known(drop, impact) {
  const one = view.drops[drop]?.picks[impact];
  return one && Math.abs(one.time - picks[drop]?.[impact]) < 5e-7 ? one : null;
}

function howSure(drop, impact) {
  const one = known(drop, impact);
  if (!one) return "moved";
  const sure = one.u ? `, ± ${(one.u * 1000).toPrecision(2)} ms` : "";
  return `${one.found ? "found" : "put there by hand"}${sure}`;
}

// Which part of the sound is shown ----------------------------------------------------------------------------------

/** From when to when the sound is shown: the drop in hand with a little before and after it, or all of it. */
function shown() {
  const own = picks[hand.drop];
  if (!own) return [0, view.seconds];
  const gap = Math.max(AFTER_S, 0.15 * (own[own.length - 1] - own[0]));
  return [Math.max(0, own[0] - BEFORE_S), Math.min(view.seconds, own[own.length - 1] + gap)];
}

function share(time) {
  const [from, until] = shown();
  return ((time - from) / (until - from)) * 100;
}

function timeAt(event, box) {
  const [from, until] = shown();
  return from + ((event.clientX - box.left) / box.width) * (until - from);
}

// Drawing -----------------------------------------------------------------------------------------------------------

function drawDrops() {
  const buttons = picks.map((drop, i) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = `Drop ${i + 1}`;
    button.setAttribute("aria-pressed", String(i === hand.drop));
    button.addEventListener("click", () => choose({ drop: i, impact: 0 }));
    return button;
  });
  const more = document.createElement("button");
  more.type = "button";
  more.id = "drop-add";
  more.textContent = picks.length ? "Another drop" : "Pick a drop";
  more.addEventListener("click", () => change(begun(picks, view.seconds, wish)));
  drops.replaceChildren(...buttons, more);
}

function slider(time, impact) {
  const made = document.createElement("div");
  made.className = "impact";
  made.tabIndex = 0;
  made.dataset.impact = impact;
  made.setAttribute("role", "slider");
  made.setAttribute("aria-orientation", "horizontal");
  made.addEventListener("keydown", (event) => keyed(event, impact));
  made.addEventListener("focus", () => {
    if (hand.impact !== impact) choose({ drop: hand.drop, impact }, false);
  });
  made.addEventListener("pointerdown", (event) => grab(event, impact, wave));
  return made;
}

function placePicks() {
  const own = picks[hand.drop] ?? [];
  const sliders = [...wave.querySelectorAll(".impact")];
  while (sliders.length > own.length) sliders.pop().remove();
  while (sliders.length < own.length) {
    const made = slider(0, sliders.length);
    sliders.push(made);
    wave.append(made);
  }
  for (const [i, made] of sliders.entries()) {
    const [low, high] = room(picks, { drop: hand.drop, impact: i }, view.seconds);
    made.style.left = `${share(own[i])}%`;
    made.classList.toggle("in-hand", i === hand.impact);
    made.classList.toggle("by-hand", known(hand.drop, i)?.found !== true);
    made.setAttribute("aria-label", `Impact ${i + 1} of drop ${hand.drop + 1}`);
    made.setAttribute("aria-valuemin", low.toFixed(6));
    made.setAttribute("aria-valuemax", high.toFixed(6));
    made.setAttribute("aria-valuenow", own[i].toFixed(6));
    made.setAttribute("aria-valuetext", `${seconds(own[i])}, ${howSure(hand.drop, i)}`);
  }
}

function drawClose() {
  const one = view.drops[hand.drop]?.picks[hand.impact];
  const time = picks[hand.drop]?.[hand.impact];
  closePart.hidden = !one?.close || time === undefined;
  if (closePart.hidden) return;
  const { from, until, low, high } = one.close;
  drawWave(closePicture, low, high);
  const where = ((time - from) / (until - from)) * 100;
  closeLine.hidden = where < 0 || where > 100;
  closeLine.style.left = `${where}%`;
  document.getElementById("close-words").textContent =
    `${Math.round((until - from) * 1000)} ms around impact ${hand.impact + 1}, magnified`;
}

function say() {
  const time = picks[hand.drop]?.[hand.impact];
  const many = picks[hand.drop]?.length ?? 0;
  at.textContent = time === undefined
    ? "No impact is picked."
    : `Impact ${hand.impact + 1} of ${many}, drop ${hand.drop + 1}: ${seconds(time)}, ${howSure(hand.drop, hand.impact)}`;
  cursor.hidden = wish === null || share(wish) < 0 || share(wish) > 100;
  if (!cursor.hidden) cursor.style.left = `${share(wish)}%`;
}

function draw() {
  const [from, until] = shown();
  const piece = between(view, view.seconds, from, until);
  drawWave(picture, piece.low, piece.high);
  document.getElementById("wave-words").textContent = `From ${from.toFixed(2)} s to ${until.toFixed(2)} s of the sound`;
  drawDrops();
  place();
}

/** Everything but the sound itself, which stays as it is while a pick is dragged. */
function place() {
  placePicks();
  drawClose();
  say();
}

// Changing ----------------------------------------------------------------------------------------------------------

function focusHand() {
  wave.querySelectorAll(".impact")[hand.impact]?.focus();
}

function choose(next, focus = true) {
  const other = next.drop !== hand.drop;
  hand = next;
  wish = null;
  if (other) draw();
  else place();
  if (focus) focusHand();
}

/** Take over changed picks, and ask what they tell when nothing more changes for a moment. */
function change(next, focus = true) {
  picks = next.picks;
  hand = next.at;
  wish = null;
  draw();
  if (focus) focusHand();
  ask();
}

function ask() {
  reset.disabled = false;
  said.textContent = "";
  clearTimeout(waiting);
  pending = true;
  waiting = setTimeout(() => {
    pending = false;
    told(picks);
  }, QUIET_MS);
}

function move(impact, time) {
  hand = { ...hand, impact };
  picks = moved(picks, hand, time, view.seconds);
  place();
  ask();
}

function take() {
  if (!picks.length) return;
  const where = hand;
  const left = removed(picks, where);
  const same = left.length === picks.length;
  const drop = same ? where.drop : Math.max(0, Math.min(where.drop, left.length - 1));
  const impact = same ? Math.max(0, Math.min(where.impact, left[drop].length - 1)) : 0;
  change({ picks: left, at: { drop, impact } });
}

function keyed(event, impact) {
  if (event.altKey || event.ctrlKey || event.metaKey) return;
  const step = stepOf(event);
  if (step) move(impact, picks[hand.drop][impact] + step);
  else if (event.key === "Delete" || event.key === "Backspace") take();
  else if (event.key === "a" || event.key === "A" || event.key === "Insert") change(added(picks, hand, view.seconds));
  else if (event.key === "Home") choose({ drop: hand.drop, impact: 0 });
  else if (event.key === "End") choose({ drop: hand.drop, impact: picks[hand.drop].length - 1 });
  else return;
  event.preventDefault();
}

// Dragging ----------------------------------------------------------------------------------------------------------

/** A pick is dragged over the sound, or over the magnified piece, where the same way of the finger is finer. */
function grab(event, impact, ground) {
  event.preventDefault();
  event.stopPropagation();
  choose({ drop: hand.drop, impact });
  const box = ground.getBoundingClientRect();
  const one = view.drops[hand.drop]?.picks[impact];
  const [from, until] = ground === close ? [one.close.from, one.close.until] : shown();
  dragging = { ground, impact, scale: (until - from) / box.width, from: event.clientX, time: picks[hand.drop][impact] };
  ground.setPointerCapture(event.pointerId);
}

for (const ground of [wave, close]) {
  ground.addEventListener("pointermove", (event) => {
    if (dragging?.ground !== ground) return;
    const time = dragging.time + (event.clientX - dragging.from) * dragging.scale;
    if (Math.abs(event.clientX - dragging.from) >= 1) move(dragging.impact, time);
  });
  for (const over of ["pointerup", "pointercancel"]) {
    ground.addEventListener(over, () => {
      if (dragging?.ground === ground) draw();
      dragging = null;
    });
  }
}

close.addEventListener("pointerdown", (event) => grab(event, hand.impact, close));

/** A tap beside all picks marks where the next one is to be. */
wave.addEventListener("pointerdown", (event) => {
  if (event.target.closest(".impact") || !view) return;
  wish = Math.min(Math.max(timeAt(event, wave.getBoundingClientRect()), 0), view.seconds);
  say();
});

for (const button of document.querySelectorAll("[data-move-ms]")) {
  button.addEventListener("click", () => {
    const time = picks[hand.drop]?.[hand.impact];
    if (time !== undefined) move(hand.impact, time + Number(button.dataset.moveMs) / 1000);
  });
}
document.getElementById("pick-add").addEventListener("click", () => change(added(picks, hand, view.seconds, wish)));
document.getElementById("pick-remove").addEventListener("click", take);
reset.addEventListener("click", () => {
  clearTimeout(waiting);
  pending = false;
  told(null);
});

// The way in --------------------------------------------------------------------------------------------------------

/** Whether what is told is of the picks as they stand. */
export function isSettled() {
  return !pending && dragging === null;
}

/**
 * Show what was heard. `next` holds the sound and its drops; `onChange` is told changed picks, or null for those that
 * the program finds by itself. What somebody changed meanwhile is not overwritten.
 */
export function showPicks(next, onChange, { fresh }) {
  told = onChange;
  const own = next.drops.map((drop) => drop.picks.map((pick) => pick.time));
  const moving = !fresh && (pending || dragging !== null);
  view = next;
  if (fresh) hand = { drop: 0, impact: 0 };
  if (!moving) picks = own;
  const most = (picks[hand.drop] ?? picks[0] ?? []).length;
  hand = { drop: Math.max(0, Math.min(hand.drop, picks.length - 1)), impact: Math.max(0, Math.min(hand.impact, most - 1)) };
  reset.disabled = !next.mended;
  part.hidden = false;
  if (moving) place();
  else draw();
}

export function sayMending(words) {
  said.textContent = view ? words : "";
}

export function hidePicks() {
  clearTimeout(waiting);
  pending = false;
  view = null;
  part.hidden = true;
}
