/** Says on every page that readings wait in this browser, and where they can be sent from. */

import { amountWaits } from "./measure/queue.js";
import { ownOf, waitingHere } from "./waiting_here.js";

const SLOW_MS = 1500; // what is on its way so long is said to wait, as at the bench (own choice)
const SOON_MS = 400; // the bench in another tab changes its queue often (own choice)

const line = document.getElementById("waits-here");
const here = Number(document.getElementById("bench")?.dataset.test); // the measuring page says itself what waits there
let timer = 0;

function look(after) {
  clearTimeout(timer);
  timer = setTimeout(show, after);
}

async function show() {
  const now = Date.now();
  const groups = [...(await waitingHere())].filter(([test]) => test !== here);
  const isLate = ({ state, body }) => state !== "waiting" || now - Date.parse(body.at) > SLOW_MS;
  if (groups.some(([, entries]) => !entries.every(isLate))) look(SLOW_MS);
  const late = groups.map(([test, entries]) => [test, entries.filter(isLate)]).filter(([, entries]) => entries.length);
  const sentences = await Promise.all(late.map(([test, entries]) => sentencesOf(test, entries)));
  const parts = sentences.flat();
  const text = JSON.stringify(parts.map((part) => part.outerText ?? part.textContent));
  line.hidden = parts.length === 0;
  if (line.dataset.shown !== text) line.replaceChildren(...parts);
  line.dataset.shown = text;
}

async function sentencesOf(test, entries) {
  const { own, elsewhere, title } = await ownOf(test, entries);
  const parts = [];
  if (own.length) {
    const link = document.createElement("a");
    link.href = `/tests/${test}/measure`;
    link.textContent = `measuring page of ${title}`;
    parts.push(said(`${amountWaits(own)} in this browser, not in the notebook yet. To send: `, link, "."));
  }
  if (elsewhere.length) parts.push(said(`${amountWaits(elsewhere)} in this browser for another notebook: open that one at this address to send.`));
  return parts;
}

function said(...parts) {
  const sentence = document.createElement("span");
  sentence.append(...parts, " ");
  return sentence;
}

if ("BroadcastChannel" in window) new BroadcastChannel("ballbench.queue").addEventListener("message", () => look(SOON_MS));
document.addEventListener("visibilitychange", () => document.hidden || look(0));
window.addEventListener("pageshow", ({ persisted }) => persisted && look(0));
show();
