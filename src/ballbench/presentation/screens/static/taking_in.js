/** Take in a readings file, or the invented example, as a test of its own. */

import { clearFaults, showFaults } from "./faults.js";
import { Act, newKey, offerPerson, person, post, rememberPerson } from "./posting.js";

const form = document.getElementById("import");
const summary = document.getElementById("import-faults");
const said = document.getElementById("import-said");
let key = newKey();
let sent = "";
offerPerson(form.elements.by);

/** What is sent; the same files and words keep the same key. */
function body() {
  const made = new FormData();
  const words = [];
  for (const field of form.querySelectorAll("[data-where]")) {
    const file = field.files?.[0];
    if (field.type === "file" && !file) continue;
    made.append(field.name, file ?? field.value.trim());
    words.push(field.name, file ? `${file.name} ${file.size} ${file.lastModified}` : field.value.trim());
  }
  if (sent && sent !== words.join("\n")) key = newKey();
  sent = words.join("\n");
  made.append("key", key);
  return made;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  rememberPerson(form.elements.by.value.trim());
  said.textContent = "Reading the file.";
  const { ok, reply, faults } = await post("/api/imports", body());
  said.textContent = "";
  if (!ok) return showFaults(form, summary, faults);
  clearFaults(form, summary);
  location.assign(`/tests/${reply.id}`);
});

const example = document.getElementById("example");
const act = new Act();
example?.addEventListener("click", async () => {
  example.disabled = true;
  const { ok, reply, faults } = await post(example.dataset.address, act.body({ by: person() || "E" }));
  if (ok) return location.assign(`/tests/${reply.id}`);
  const fault = document.getElementById("example-fault");
  fault.textContent = `${faults[0].where}: found ${faults[0].found}. What to do: ${faults[0].todo}.`;
  fault.hidden = false;
  example.disabled = false;
});
