/** While a test goes on: say that there is more, and judge again when the reader asks. Nothing moves by itself. */

import { refresh } from "./refreshing.js";

const live = document.getElementById("live");
const again = document.getElementById("live-again");
const said = document.getElementById("live-said");
const STEPS = ["judge", "compare", "qualify"];
let readings = 0;
let others = 0;
let latest = Number(live.dataset.revision);

function words() {
  const parts = [];
  if (readings) parts.push(readings === 1 ? "1 new reading" : `${readings} new readings`);
  if (others) parts.push(others === 1 ? "1 other change" : `${others} other changes`);
  return parts.join(" and ");
}

function offer() {
  again.textContent = `${words()}: ${STEPS.find((step) => document.body.classList.contains(`at-${step}`)) ?? "judge"} again`;
  again.hidden = false;
  said.textContent = `${words()} since this was worked out.`;
}

/** A reading that was kept counts as new; whatever else says something about a reading, or notes a condition, changes
    results too. Questions, spoiled attempts and the order of reading do not. */
function take(change) {
  latest = Math.max(latest, change.revision);
  const reply = change.reply ?? {};
  if (change.kind === "entry" && reply.reading) readings += 1;
  else if (reply.reading || reply.readings || reply.status === "noted" || reply.stage === "finished") others += 1;
  else return;
  offer();
}

const stream = new EventSource(`/api/tests/${live.dataset.test}/live?after=${live.dataset.revision}`);
stream.addEventListener("change", (event) => take(JSON.parse(event.data)));
window.addEventListener("pagehide", () => stream.close());

again.addEventListener("click", async () => {
  again.disabled = true;
  said.textContent = "Working it out again.";
  const seen = [readings, others];
  if (await refresh(["blocks"])) {
    readings -= seen[0];
    others -= seen[1];
    said.textContent = "This is now the newest.";
    if (readings || others) offer();
    else again.hidden = true;
  } else {
    said.textContent = "No answer; this is still the older state.";
  }
  again.disabled = false;
});
