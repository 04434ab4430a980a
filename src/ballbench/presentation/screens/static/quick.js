/** A quick check: the quantities of the chosen requirement, a reading for each Enter, then the decision. */

import { clearFaults, fieldsOf, showFaults } from "./faults.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";
import { conditionsOf } from "./set_up_body.js";
import { noNumber, nothingThere, typedNumber } from "./typed_numbers.js";

const form = document.getElementById("quick");
const summary = document.getElementById("faults");
const said = document.getElementById("quick-said");
const texts = document.getElementById("texts");
const { requirement, quantity, unit } = form.elements;
const act = new Act();

function heldBy(id) {
  return Array.from(form.querySelectorAll(".held")).filter((part) => part.dataset.requirement === id);
}

function listed(text) {
  return text ? text.split("|") : [];
}

function fill(select, pairs) {
  const before = select.value;
  select.replaceChildren(...pairs.map(([value, words]) => new Option(words, value)));
  if (pairs.some(([value]) => value === before)) select.value = before;
}

/** The part of the page that says what the chosen quantity is held against. */
function chosen() {
  return heldBy(requirement.value).find((part) => part.dataset.quantity === quantity.value);
}

function offer() {
  const pairs = heldBy(requirement.value).map((part) => [part.dataset.quantity, part.dataset.words]);
  fill(quantity, pairs.length ? pairs : [["", "choose the requirement first"]]);
  const now = chosen();
  for (const part of form.querySelectorAll(".held")) part.hidden = part !== now;
  fill(unit, listed(now?.dataset.units).map((name) => [name, name || "pure number"]));
  nameReadings();
}

// Readings -------------------------------------------------------------------------------------------------------------

function readingFields() {
  return [...texts.querySelectorAll("input")];
}

function axisOf(i) {
  const axes = listed(chosen()?.dataset.axes);
  return axes.length ? axes[i % axes.length] : "";
}

function nameReadings() {
  for (const [i, field] of readingFields().entries()) {
    const axis = axisOf(i);
    field.previousElementSibling.textContent = axis ? `Reading ${i + 1}, ${axis}` : `Reading ${i + 1}`;
    field.dataset.where = `texts ${i + 1}`;
  }
}

function addReading() {
  const item = document.createElement("li");
  const label = document.createElement("label");
  const words = document.createElement("span");
  const field = document.createElement("input");
  field.type = "text";
  field.inputMode = "decimal";
  field.autocomplete = "off";
  field.enterKeyHint = "next";
  label.append(words, field);
  item.append(label);
  texts.append(item);
  nameReadings();
  return field;
}

/** Enter: on to the next reading, or from anywhere else to the first empty one. */
form.addEventListener("submit", (event) => {
  event.preventDefault();
  const fields = readingFields();
  const at = fields.indexOf(document.activeElement);
  const next = at >= 0 && fields[at].value.trim() ? fields[at + 1] : fields.find((field) => !field.value.trim());
  (next ?? addReading()).focus();
});

// Deciding -------------------------------------------------------------------------------------------------------------

function instrument(faults) {
  const made = { unit: unit.value };
  if (chosen()?.dataset.instrument) made.name = chosen().dataset.instrument;
  for (const name of ["resolution", "sd", "dof", "offset", "offset_sd"]) {
    const text = form.elements[name].value;
    const value = typedNumber(text);
    if (Number.isNaN(value)) faults.push(noNumber(`instrument, ${name}`, text));
    if (value !== null && !Number.isNaN(value)) made[name] = value;
  }
  return made;
}

document.getElementById("decide").addEventListener("click", async (event) => {
  const faults = [];
  const read = readingFields().map((field, i) => [field.value.trim(), axisOf(i), field]).filter(([text]) => text);
  const fields = fieldsOf(form);
  for (const [i, [, , field]] of read.entries()) fields.set(`texts ${i + 1}`, field);
  fields.set("texts", readingFields()[0]);
  const typed = {
    by: form.elements.by.value.trim(),
    requirement: requirement.value,
    quantity: quantity.value,
    ball: form.elements.ball.value.trim(),
    instrument: instrument(faults),
    texts: read.map(([text]) => text),
    axes: read.map(([, axis]) => axis),
    note: form.elements.note.value.trim(),
  };
  const conditions = chosen() ? conditionsOf(chosen(), fields) : null;
  if (conditions) typed.conditions = conditions;
  if (!typed.axes.some(Boolean)) delete typed.axes;
  for (const where of ["requirement", "ball", "by"]) if (!typed[where]) faults.push(nothingThere(where));
  if (!form.elements.resolution.value.trim()) faults.push(nothingThere("instrument, resolution"));
  if (!read.length) faults.push(nothingThere("texts"));
  if (faults.length) return showFaults(form, summary, faults, fields);
  rememberPerson(typed.by);
  said.textContent = "Working it out.";
  event.target.disabled = true;
  const answer = await post("/api/quick-checks", act.body(typed));
  event.target.disabled = false;
  said.textContent = "";
  if (!answer.ok) return showFaults(form, summary, answer.faults, fields);
  clearFaults(form, summary);
  location.assign(`/quick/${answer.reply.id}`);
});

requirement.addEventListener("change", offer);
quantity.addEventListener("change", offer);
addReading();
offer();
offerPerson(form.elements.by);
