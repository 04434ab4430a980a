/** Say something about a reading: correct, exclude or keep it, with a reason and a name. */

import { clearFaults, showFaults } from "./faults.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";
import { refresh } from "./refreshing.js";

const parts = ["doubt", "questions", "readings", "history"];
const said = document.getElementById("said");

// One reading ------------------------------------------------------------------------------------------------------

const dialog = document.getElementById("change");
const form = document.getElementById("change-form");
const summary = document.getElementById("change-faults");
const textField = document.getElementById("change-text-field");
let act = new Act();
let reading = 0;

function action() {
  return form.elements.action.value;
}

function askForText() {
  textField.hidden = action() !== "correct";
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("button[data-reading]");
  if (!button) return;
  reading = Number(button.dataset.reading);
  act = new Act();
  form.reset();
  clearFaults(form, summary);
  document.getElementById("change-name").textContent = button.dataset.name.replace(/^./, (letter) => letter.toUpperCase());
  document.getElementById("change-raw").textContent = button.dataset.raw;
  form.elements.text.inputMode = button.dataset.yesNo === "yes" ? "text" : "decimal";
  offerPerson(form.elements.by);
  askForText();
  dialog.showModal();
});
form.addEventListener("change", askForText);
document.getElementById("change-close").addEventListener("click", () => dialog.close());

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const by = form.elements.by.value.trim();
  rememberPerson(by);
  const typed = { by, reading, action: action(), reason: form.elements.reason.value.trim() };
  if (typed.action === "correct") typed.text = form.elements.text.value.trim();
  const { ok, faults } = await post(`/api/tests/${form.dataset.test}/corrections`, act.body(typed));
  if (!ok) return showFaults(form, summary, faults);
  act.done();
  dialog.close();
  await show("Written down.");
  document.querySelector(`button[data-reading="${reading}"]`)?.focus();
});

async function show(words) {
  const fresh = await refresh(parts);
  pick();
  said.textContent = fresh ? words : `${words} Load the page again to see it.`;
}

// All readings that a failed check touches ---------------------------------------------------------------------------

const MOST = 5000; // readings of one act, as the notebook takes them
let allAct = new Act();

document.addEventListener("submit", async (event) => {
  const all = event.target;
  if (all.id !== "exclude-all") return;
  event.preventDefault();
  const by = all.elements.by.value.trim();
  const reason = all.elements.reason.value.trim();
  rememberPerson(by);
  const readings = [...document.querySelectorAll("#doubt li[data-reading]")].map((item) => Number(item.dataset.reading));
  const body = allAct.body({ by, readings: readings.slice(0, MOST), action: "exclude", reason });
  const { ok, faults } = await post(`/api/tests/${all.dataset.test}/corrections`, body);
  if (!ok) {
    showFaults(all, document.getElementById("all-faults"), faults);
    said.textContent = "None of them is excluded.";
    return;
  }
  allAct.done();
  await show(`${body.readings.length} of ${readings.length} excluded.`);
  document.getElementById("main").focus();
});

document.addEventListener("focusin", (event) => {
  if (event.target.id === "all-by") offerPerson(event.target);
});

// Which readings are shown ---------------------------------------------------------------------------------------------

const pickForm = document.getElementById("pick");

function pick() {
  if (!pickForm) return;
  const ball = document.getElementById("pick-ball").value;
  const group = document.getElementById("pick-group").value;
  const rows = document.querySelectorAll("#readings tbody tr");
  let shown = 0;
  for (const row of rows) {
    row.hidden = Boolean((ball && row.dataset.ball !== ball) || (group && row.dataset.group !== group));
    if (!row.hidden) shown += 1;
  }
  document.getElementById("picked").textContent = `${shown} of ${rows.length} readings`;
}

const MANY = 72; // readings that are looked through at a glance, more or less (own choice)

/** With very many readings the list begins with one ball. */
function beginWithOneBall() {
  const ball = document.getElementById("pick-ball");
  const many = document.querySelectorAll("#readings tbody tr").length > MANY;
  if (many && !ball.value) ball.selectedIndex = 1;
}

pickForm?.addEventListener("change", pick);
pickForm?.addEventListener("submit", (event) => event.preventDefault());
if (pickForm) beginWithOneBall();
pick();
