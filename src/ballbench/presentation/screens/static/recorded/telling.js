/** What a recording tells: the sentences and pictures of the command, and the sound to mend. */

import { hidePicks, sayMending, showPicks } from "./pick_editor.js";

const told = document.getElementById("told");
const toldPart = document.getElementById("told-part");
const refused = document.getElementById("refused");
const away = document.getElementById("take-away");

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
  if (reply.view.kind === "sound") showPicks(reply.view, onChange, { fresh });
  else hidePicks();
  sayMending(fresh ? "" : "Worked out anew, below.");
}

/** Picks with which nothing can be worked out: they stay, and what was told before is not theirs. */
export function showNoResult(faults) {
  toldPart.hidden = true;
  sayMending(faults.map(words).join(" "));
}

export function hide() {
  last = null;
  toldPart.hidden = true;
  refused.hidden = true;
  hidePicks();
}

away?.addEventListener("click", () => {
  if (!last) return;
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([JSON.stringify(last.document, null, 2)], { type: "application/json" }));
  link.download = `${away.dataset.name}.json`;
  link.click();
  URL.revokeObjectURL(link.href);
});
