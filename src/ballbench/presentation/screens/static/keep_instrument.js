/** Keep what a test says of its instrument, then show all instruments. */

import { clearFaults, showFaults } from "./faults.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";
import { sayBeforeGo } from "./say_before_go.js";

const form = document.getElementById("keep-form");
const summary = document.getElementById("keep-faults");
const act = new Act();
let askedOnce = false;
offerPerson(form.elements.by);

/** Ask once more before a study of which places are left is kept. */
function askedOfLeft() {
  if (!form.dataset.left || askedOnce) return false;
  askedOnce = true;
  sayBeforeGo(document.getElementById("keep-asks"), `Taken: ${form.dataset.left}`, "Kept as it stands, these numbers stand in every later plan and set-up. Go on measuring, or keep them all the same.");
  form.querySelector("button").textContent = "Keep it all the same";
  return true;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const by = form.elements.by.value.trim();
  rememberPerson(by);
  if (askedOfLeft()) return;
  const body = act.body({ by, quantity: form.dataset.quantity });
  const { ok, faults } = await post(`/api/tests/${form.dataset.test}/qualification`, body);
  if (!ok) return showFaults(form, summary, faults);
  clearFaults(form, summary);
  location.assign("/qualify");
});
