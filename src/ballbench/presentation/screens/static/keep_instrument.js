/** Keep what a test says of its instrument, then show all instruments. */

import { clearFaults, showFaults } from "./faults.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";

const form = document.getElementById("keep-form");
const summary = document.getElementById("keep-faults");
const act = new Act();
offerPerson(form.elements.by);

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const by = form.elements.by.value.trim();
  rememberPerson(by);
  const body = act.body({ by, quantity: form.dataset.quantity });
  const { ok, faults } = await post(`/api/tests/${form.dataset.test}/qualification`, body);
  if (!ok) return showFaults(form, summary, faults);
  clearFaults(form, summary);
  location.assign("/qualify");
});
