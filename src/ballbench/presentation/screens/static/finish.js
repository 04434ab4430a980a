/** Finish a test, then show what it says; or take it up again, then go to the bench. */

import { clearFaults, showFaults } from "./faults.js";
import { amountWaits } from "./measure/queue.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";
import { sayBeforeGo } from "./say_before_go.js";
import { ownOf, waitingHere } from "./waiting_here.js";

const form = document.getElementById("finish-form");
const summary = document.getElementById("finish-faults");
const warning = document.getElementById("finish-waits");
const test = Number(form.dataset.test);
const act = new Act();
let warnedOf = new Set();
let askedOnce = false;
offerPerson(form.elements.by);

/** What waits in this browser for this test. */
async function waiting() {
  const entries = (await waitingHere()).get(test) ?? [];
  return entries.length ? (await ownOf(test, entries)).own : [];
}

/** Warn of what waits, once for each entry; true: there was something to warn of. */
function warned(entries) {
  const isNew = entries.some(({ key }) => !warnedOf.has(key));
  warnedOf = new Set(entries.map(({ key }) => key));
  warning.hidden = entries.length === 0;
  if (!isNew) return false;
  const link = document.createElement("a");
  link.href = `/tests/${test}/measure`;
  link.textContent = "measuring page";
  const way = document.createElement("p");
  way.append("A finished test takes no readings. Send them first, on the ", link, ". Or finish all the same: they stay in this browser, and can be sent when the test is taken up again.");
  const head = document.createElement("h3");
  head.textContent = `${amountWaits(entries)} in this browser, not in the notebook`;
  warning.replaceChildren(head, way);
  form.querySelector("button").textContent = "Finish all the same";
  warning.focus();
  return true;
}

/** Ask once more before a repeat study ends with places left: what it tells rests on its repeats. */
function askedOfLeft() {
  if (!form.dataset.left || askedOnce) return false;
  askedOnce = true;
  sayBeforeGo(warning, `Not taken of the plan: ${form.dataset.left}`, "What a repeat study tells rests on its repeats; with few of them it tells little. Go on measuring, or finish all the same.");
  form.querySelector("button").textContent = "Finish all the same";
  return true;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const by = form.elements.by.value.trim();
  rememberPerson(by);
  const again = form.dataset.again === "yes";
  if (!again && (warned(await waiting()) || askedOfLeft())) return;
  const { ok, faults } = await post(`/api/tests/${test}/finish`, act.body({ by, again }));
  if (!ok) return showFaults(form, summary, faults);
  clearFaults(form, summary);
  location.assign(`/tests/${test}/${again ? "measure" : form.dataset.next}`);
});
