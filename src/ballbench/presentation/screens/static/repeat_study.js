/** Begin a repeat study: one quantity, one instrument, some balls read again and again by one person or several. */

import { clearFaults, showFaults } from "./faults.js";
import { fillInstrument, instrumentOf, offerFor } from "./known_instrument.js";
import { Act, offerPerson, person, post, rememberPerson } from "./posting.js";
import { Gathering, said } from "./set_up_body.js";
import { typedNumber } from "./typed_numbers.js";

const form = document.getElementById("repeat-study");
const summary = document.getElementById("faults");
const references = document.getElementById("references");
const { quantity, known } = form.elements;
const act = new Act();

const people = () => [...form.querySelectorAll('[name="person"]')].map((field) => field.value.trim()).filter(Boolean);
const which = () => form.elements.which.value;

/** What belongs to the quantity: units of its display, the place that is read, the usual instrument. */
function takeQuantity() {
  const { units, axis, instrument, caution } = quantity.selectedOptions[0].dataset;
  form.elements.unit.replaceChildren(...units.split(" ").map((unit) => new Option(unit, unit)));
  form.elements.axes.value = axis;
  form.elements.instrument.value = instrument;
  form.elements.resolution.value = "";
  const beware = document.getElementById("beware");
  beware.hidden = !caution;
  beware.textContent = caution;
  offerFor(known, quantity.value, false);
}

function refreshForm() {
  document.getElementById("new-box").hidden = which() !== "new";
  const box = document.getElementById("known-box");
  if (box) box.hidden = which() !== "known";
  document.getElementById("amounts").hidden = which() === "none";
  for (const [i, piece] of [...references.children].entries()) {
    piece.querySelector("legend").textContent = `Reference piece ${i + 1}`;
  }
  sayAmount();
}

function sayAmount() {
  const [balls, repeats] = ["balls", "repeats"].map((name) => typedNumber(form.elements[name].value) || 0);
  const places = form.elements.axes.value.split(",").filter((axis) => axis.trim()).length || 1;
  const readings = which() === "none" ? 0 : balls * repeats * places * Math.max(people().length, 1);
  const checks = 3 * references.children.length;
  const minutes = Math.max(1, Math.round(((readings + checks) * Number(form.dataset.seconds)) / 60));
  const words = [readings ? `${readings} readings of balls` : "", checks ? `${checks} of reference pieces` : ""];
  document.getElementById("amount").textContent = readings + checks
    ? `${words.filter(Boolean).join(", ")}: about ${minutes} min at ${form.dataset.seconds} s a reading (own choice).`
    : "Say how many balls there are, or add a reference piece.";
}

function addReference() {
  const piece = document.getElementById("reference").content.firstElementChild.cloneNode(true);
  references.append(piece);
  return piece;
}

/** The instrument: the one that was chosen, as it is kept, unless a field of it was changed. */
function instrument(gathering) {
  const made = {
    name: gathering.name(form, "instrument", "instruments 1, name"),
    quantity: quantity.value,
    unit: gathering.text(form, "unit", "instruments 1, unit"),
    resolution: gathering.count(form, "resolution", "instruments 1, resolution"),
  };
  const option = known?.selectedOptions[0];
  if (!option?.dataset.name) return made;
  const kept = instrumentOf(option);
  const same = ["name", "unit", "resolution"].every((field) => kept[field] === made[field]);
  return same ? kept : made;
}

function balls(gathering) {
  if (which() === "none") return {};
  const count = gathering.count(form, "balls", which() === "new" ? "makes 1, box 1, balls" : "boxes 1, balls");
  if (which() === "known") {
    gathering.fields.set("boxes 1", form.elements.box);
    return { boxes: [{ box: Number(form.elements.box.value), balls: count }] };
  }
  const box = { label: gathering.name(form, "label", "makes 1, box 1, label"), balls: count };
  return { makes: [{ make: gathering.name(form, "make", "makes 1, make"), boxes: [box] }] };
}

function pieceOf(gathering, part, i, tool) {
  const where = `references ${i + 1}`;
  return {
    name: gathering.name(part, "name", `${where}, name`),
    quantity: quantity.value,
    value: gathering.count(part, "value", `${where}, value`),
    u: gathering.count(part, "u", `${where}, u`),
    unit: tool.unit,
    instrument: tool.name,
  };
}

function gather() {
  const gathering = new Gathering();
  const tool = instrument(gathering);
  const axes = gathering.text(form, "axes", "quantities 1, axes").split(",").map((axis) => axis.trim()).filter(Boolean);
  const repeats = gathering.count(form, "repeats", "quantities 1, repeats");
  for (const [where, name] of [["people", "person"], ["makes", "make"], ["quantities 1, name", "quantity"]]) {
    gathering.fields.set(where, gathering.field(form, name));
  }
  const body = said({
    by: gathering.name(form, "by", "by"),
    title: gathering.text(form, "title", "title") || `Repeat study: ${tool.name}`,
    requirement: form.dataset.requirement,
    purpose: "repeat study",
    people: people(),
    ...balls(gathering),
    quantities: [{ name: quantity.value, axes, repeats, instrument: tool.name }],
    instruments: [said(tool)],
    references: [...references.children].map((part, i) => pieceOf(gathering, part, i, tool)),
    blind: form.elements.blind.value === "yes",
    invented: form.elements.invented.checked,
  });
  return { body, fields: gathering.fields, faults: gathering.faults };
}

form.addEventListener("click", (event) => {
  const button = event.target.closest("button[type=button]");
  if (!button) return;
  let focus = document.getElementById("add-reference");
  if (button.id === "add-reference") focus = addReference().querySelector("input");
  if (button.dataset.remove) button.closest(".reference").remove();
  refreshForm();
  focus.focus();
});
form.addEventListener("input", refreshForm);
form.addEventListener("change", (event) => {
  if (event.target === quantity) takeQuantity();
  if (event.target === known && known.selectedOptions[0].dataset.name) fillInstrument(form, known.selectedOptions[0]);
  refreshForm();
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { body, fields, faults } = gather();
  if (faults.length) return showFaults(form, summary, faults, fields);
  rememberPerson(body.by);
  const answer = await post("/api/tests", act.body(body));
  if (!answer.ok) return showFaults(form, summary, answer.faults, fields);
  clearFaults(form, summary);
  location.assign(`/tests/${answer.reply.id}`);
});

offerPerson(form.elements.by);
form.querySelector('[name="person"]').value ||= person();
takeQuantity();
refreshForm();
