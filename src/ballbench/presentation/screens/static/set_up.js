/** Set up a test: makes and boxes come and go, the amount of work is said, and what was typed stays on a fault. */

import { clearFaults, showFaults } from "./faults.js";
import { fillInstrument } from "./known_instrument.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";
import { boxesAgain, chosenQuantities, gather } from "./set_up_body.js";
import { typedNumber } from "./typed_numbers.js";

const form = document.getElementById("set-up");
const summary = document.getElementById("faults");
const amount = document.getElementById("amount");
const makes = document.getElementById("makes");
const references = document.getElementById("references");
const act = new Act();

function cloned(id) {
  return document.getElementById(id).content.firstElementChild.cloneNode(true);
}

function addBox(make) {
  const box = cloned("box");
  make.querySelector(".boxes").append(box);
  return box;
}

function addMake() {
  const make = cloned("make");
  makes.append(make);
  addBox(make);
  return make;
}

function fill(select, pairs) {
  const before = select.value;
  select.replaceChildren(...pairs.map(([value, words]) => new Option(words, value)));
  if (pairs.some(([value]) => value === before)) select.value = before;
}

function addReference() {
  const piece = cloned("reference");
  references.append(piece);
  return piece;
}

/** Put a piece into the form that an instrument was qualified with. */
function takeAgain({ dataset }) {
  const piece = addReference();
  const put = (name, text) => {
    piece.querySelector(`[name="${name}"]`).value = text;
  };
  offerQuantities();
  put("quantity", dataset.quantity);
  offerQuantities();
  const unit = piece.querySelector('[name="unit"]');
  if (![...unit.options].some(({ value }) => value === dataset.unit)) unit.append(new Option(dataset.unit, dataset.unit));
  for (const [name, text] of [["name", dataset.again], ["value", dataset.value], ["u", dataset.u], ["unit", dataset.unit]]) put(name, text);
  return piece;
}

/** Offer a piece again while its quantity is read and it is not in the form. */
function offerAgain() {
  const read = chosenQuantities(form).map((part) => part.dataset.quantity);
  const there = [...references.querySelectorAll('[name="name"]')].map((field) => field.value.trim());
  for (const part of form.querySelectorAll("[data-piece]")) {
    part.hidden = !read.includes(part.dataset.piece) || there.includes(part.querySelector("button").dataset.again);
  }
}

/** A reference piece checks a quantity that is read as a number, in a unit of its display. */
function offerQuantities() {
  const read = chosenQuantities(form).filter((part) => part.dataset.yesNo === "no");
  const pairs = read.map((part) => [part.dataset.quantity, part.querySelector("legend").textContent]);
  for (const piece of references.children) {
    const quantity = piece.querySelector('[name="quantity"]');
    fill(quantity, pairs);
    const part = read.find((one) => one.dataset.quantity === quantity.value);
    const units = part ? Array.from(part.querySelector('[name="unit"]').options, (one) => [one.value, one.text]) : [];
    fill(piece.querySelector('[name="unit"]'), units);
  }
}

/** Name every part, and leave the buttons that take away only where something remains. */
function name() {
  for (const [i, make] of [...makes.children].entries()) {
    make.querySelector("legend").textContent = `Make ${i + 1}`;
    make.querySelector('[data-remove="make"]').hidden = makes.children.length === 1;
    const boxes = [...make.querySelectorAll(".box-of-balls")];
    for (const [j, box] of boxes.entries()) {
      box.querySelector("legend").textContent = `Make ${i + 1}, box ${j + 1}`;
      box.querySelector('[data-remove="box"]').hidden = boxes.length === 1;
    }
  }
  for (const [i, piece] of [...references.children].entries()) {
    piece.querySelector("legend").textContent = `Reference piece ${i + 1}`;
  }
}

function time(readings) {
  const minutes = (readings * Number(form.dataset.seconds)) / 60;
  if (minutes < 90) return `about ${Math.max(1, Math.round(minutes))} min`;
  return `about ${Math.round((minutes / 60) * 2) / 2} h`;
}

function counted(count, one) {
  return `${count} ${one}${count === 1 ? "" : "s"}`;
}

function sayAmount() {
  const again = boxesAgain(form).reduce((sum, field) => sum + Number(field.dataset.balls), 0);
  const total = [...form.querySelectorAll('[name="balls"]')].reduce((sum, field) => sum + (typedNumber(field.value) || 0), again);
  const each = chosenQuantities(form).reduce((sum, part) => {
    const axes = part.querySelector('[name="axes"]').value.split(",").filter((axis) => axis.trim()).length || 1;
    return sum + axes * (typedNumber(part.querySelector('[name="repeats"]').value) || 0);
  }, 0);
  const readings = total * each;
  amount.textContent = readings
    ? `${counted(total, "ball")}, ${counted(each, "reading")} each: ${counted(readings, "reading")}, ${time(readings)} at ${form.dataset.seconds} s a reading (own choice). Reference pieces come on top.`
    : "Say how many balls there are, and what is read of each.";
}

function refreshForm() {
  for (const part of form.querySelectorAll(".quantity")) {
    part.querySelector(".inner").hidden = !part.querySelector('[name="read"]').checked;
  }
  name();
  offerQuantities();
  offerAgain();
  sayAmount();
}

/** Put an instrument that the notebook knows into the fields, and say what is known of it. */
function useKnown(select) {
  const part = select.closest(".quantity");
  const option = select.selectedOptions[0];
  const words = part.querySelector(".known-words");
  words.textContent = option.dataset.sentence ?? "";
  words.hidden = !words.textContent;
  for (const name of ["scale_sd", "display"]) part.querySelector(`[name="${name}"]`).value = "";
  if (!option.dataset.name) return;
  fillInstrument(part, option);
  part.querySelector("details.noise").open = !words.textContent;
}

form.addEventListener("click", (event) => {
  const button = event.target.closest("button[type=button]");
  if (!button) return;
  let focus = null;
  if (button.id === "add-make") focus = addMake();
  if (button.id === "add-reference") focus = addReference();
  if (button.dataset.again) focus = takeAgain(button);
  if (button.dataset.add === "box") focus = addBox(button.closest(".make"));
  if (button.dataset.remove) {
    const gone = button.closest({ make: ".make", box: ".box-of-balls", reference: ".reference" }[button.dataset.remove]);
    const beside = gone.previousElementSibling ?? gone.nextElementSibling;
    gone.remove();
    focus = beside ?? document.getElementById("add-reference");
  }
  refreshForm();
  (focus?.matches("button") ? focus : focus?.querySelector("input"))?.focus();
});
/** Leave out of the list what is not looked for; what is ticked stays. */
function findBoxes(text) {
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  for (const choice of form.querySelectorAll(".again [data-find]")) {
    const found = words.every((word) => choice.dataset.find.includes(word));
    choice.hidden = !found && !choice.querySelector("input").checked;
  }
}

form.addEventListener("input", (event) => {
  if (event.target.id === "find-box") findBoxes(event.target.value);
  refreshForm();
});
form.addEventListener("change", (event) => {
  if (event.target.name === "known") useKnown(event.target);
  refreshForm();
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { body, fields, faults } = gather(form);
  if (faults.length) return showFaults(form, summary, faults, fields);
  rememberPerson(body.by);
  const answer = await post("/api/tests", act.body(body));
  if (!answer.ok) return showFaults(form, summary, answer.faults, fields);
  clearFaults(form, summary);
  location.assign(`/tests/${answer.reply.id}`);
});

for (const select of form.querySelectorAll('[name="known"]')) useKnown(select);
addMake();
offerPerson(form.elements.by);
refreshForm();
