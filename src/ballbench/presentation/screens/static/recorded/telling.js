/** What a recording tells: the sentences and pictures of the command, and the sound or the film to mend. */

import { hideFilm, isFilmSettled, sayFilm, showFilm } from "./film_editor.js";
import { hidePicks, isSettled as arePicksSettled, sayMending, showPicks } from "./pick_editor.js";

const told = document.getElementById("told");
const toldPart = document.getElementById("told-part");
const refused = document.getElementById("refused");
const away = document.getElementById("take-away");
const photo = document.getElementById("photo-part");

let last = null;

function words(fault) {
  return `Found ${fault.found}. Allowed: ${fault.allowed}. What to do: ${fault.todo}.`;
}

function sentence(text) {
  return text && text[0].toUpperCase() + text.slice(1) + (/[.!?]$/.test(text) ? "" : ".");
}

/** Show a result; `onChange` is told changed picks. */
export function show(reply, onChange, { fresh }) {
  last = reply;
  const made = new DOMParser().parseFromString(reply.shown, "text/html");
  told.replaceChildren(...made.body.childNodes);
  toldPart.hidden = false;
  refused.textContent = sentence(reply.refused);
  refused.hidden = !reply.refused;
  const kind = reply.view.kind;
  if (kind === "sound") showPicks(reply.view, onChange, { fresh });
  else if (fresh) hidePicks();
  if (kind === "film") showFilm(reply.view, onChange, { fresh });
  else if (fresh) hideFilm();
  if (photo) photo.hidden = kind !== "photograph";
  say(fresh ? "" : "Worked out anew, below.");
}

function say(words) {
  sayMending(words);
  sayFilm(words);
}

/** Whether what is told is of the picks or the marks as they stand. */
export function isSettled() {
  return arePicksSettled() && isFilmSettled();
}

/** Picks or marks with which nothing can be worked out: they stay, and what was told before is not theirs. */
export function showNoResult(faults) {
  toldPart.hidden = true;
  say(faults.map(words).join(" "));
}

export function hide() {
  last = null;
  toldPart.hidden = true;
  refused.hidden = true;
  if (photo) photo.hidden = true;
  hidePicks();
  hideFilm();
}

away?.addEventListener("click", () => {
  if (!last) return;
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([JSON.stringify(last.document, null, 2)], { type: "application/json" }));
  link.download = `${away.dataset.name}.json`;
  link.click();
  URL.revokeObjectURL(link.href);
});
