/** Finish a test, then show what it says; or take it up again, then go to the bench. */

import { clearFaults, showFaults } from "./faults.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";

const form = document.getElementById("finish-form");
const summary = document.getElementById("finish-faults");
const act = new Act();
offerPerson(form.elements.by);

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const by = form.elements.by.value.trim();
  rememberPerson(by);
  const again = form.dataset.again === "yes";
  const { ok, faults } = await post(`/api/tests/${form.dataset.test}/finish`, act.body({ by, again }));
  if (!ok) return showFaults(form, summary, faults);
  clearFaults(form, summary);
  location.assign(`/tests/${form.dataset.test}/${again ? "measure" : "judge"}`);
});
