/** Ask for a plan: it is worked out while the page says how far it is, and then shown on a page of its own. */

import { clearFaults, showFaults } from "./faults.js";
import { instrumentOf, offerFor } from "./known_instrument.js";
import { Act, offerPerson, post, rememberPerson } from "./posting.js";
import { noNumber, typedNumber } from "./typed_numbers.js";

const ASK_MS = 1000; // how often it is asked how far the work is (own choice)

const form = document.getElementById("plan");
const summary = document.getElementById("faults");
const amount = document.getElementById("amount");
const go = document.getElementById("go");
const { quantity, known } = form.elements;
const act = new Act();

const chosen = () => known.selectedOptions[0];
const field = (name) => form.elements[name];

function takeQuantity() {
  const { unit, places, step } = quantity.selectedOptions[0].dataset;
  offerFor(known, quantity.value, true);
  if (![...known.options].some((option) => option.dataset.name && !option.disabled)) known.selectedIndex = known.options.length - 1;
  field("axes").value = places;
  field("resolution").value = step;
  for (const name of ["true_mean", "true_sd", "true_form_sd", "difference", "resolution"]) {
    const label = field(name).closest("label").querySelector(".label");
    label.dataset.words ??= label.textContent;
    label.textContent = unit === "1" ? label.dataset.words : `${label.dataset.words}, ${unit}`;
  }
  for (const line of document.querySelectorAll("#found [data-quantity]")) line.hidden = line.dataset.quantity !== quantity.value;
}

function refreshForm() {
  const option = chosen();
  document.getElementById("usual").hidden = Boolean(option.dataset.name);
  const words = document.getElementById("known-words");
  words.hidden = !option.dataset.sentence;
  words.textContent = option.dataset.sentence ?? "";
  const designs = ["balls", "axes", "repeats"].reduce((product, name) => product * counts(name).length, 1);
  amount.textContent = designs === 1 ? "1 design is tried." : `${designs} designs are tried.`;
}

const counts = (name) => field(name).value.split(",").map((text) => text.trim()).filter(Boolean);

/** Read whole numbers with commas between; what is none is a fault. */
function wholeNumbers(name, faults) {
  const found = counts(name);
  const wrong = found.filter((text) => !/^\d{1,9}$/.test(text));
  if (wrong.length) faults.push({ where: field(name).dataset.where, found: `"${wrong.join(", ")}"`, allowed: "whole numbers such as 6, 12, 24", todo: "write it so" });
  return wrong.length ? [] : found.map(Number);
}

function number(name, faults, share = 1) {
  const value = typedNumber(field(name).value);
  if (value === null || Number.isNaN(value)) {
    faults.push(noNumber(field(name).dataset.where, field(name).value));
    return null;
  }
  return value / share;
}

function instrument(faults) {
  const option = chosen();
  if (option.value) return { qualification: Number(option.value) };
  if (option.dataset.name) return { instrument: instrumentOf(option) };
  if (!field("resolution").value.trim()) return {};
  const { unit } = quantity.selectedOptions[0].dataset;
  return { instrument: { name: "", quantity: quantity.value, unit, resolution: number("resolution", faults) } };
}

/** A decimal comma becomes a point, a unit may follow; "1,000" might be a thousand, and ballbench says so. */
function pointed(typed) {
  if (/^[+-]?[1-9]\d{0,2},\d{3}(?!\d)/.test(typed)) return typed;
  return /^[+-]?\d*,\d+\s*[^\d,.]*$/.test(typed) ? typed.replace(",", ".") : typed;
}

function gather() {
  const faults = [];
  const text = (name) => field(name).value.trim();
  const body = {
    by: text("by"),
    requirement: form.dataset.requirement,
    quantity: quantity.value,
    ...instrument(faults),
    true_mean: pointed(text("true_mean")),
    true_sd: pointed(text("true_sd")),
    true_form_sd: pointed(text("true_form_sd")) || "0",
    balls: wholeNumbers("balls", faults),
    axes: wholeNumbers("axes", faults),
    repeats: wholeNumbers("repeats", faults),
    wanted: number("wanted", faults, 100),
    difference: pointed(text("difference")),
    gains: field("gains").checked,
    surface: field("surface").checked,
    boxes: wholeNumbers("boxes", faults),
    bad_share: number("bad_share", faults, 100),
    rule: form.elements.rule.value,
    risk: number("risk", faults, 100),
    tests: number("tests", faults),
    seed: number("seed", faults),
    accept_unverified: field("accept_unverified").checked,
  };
  return { body, faults };
}

/** Say how far the work is until it is done. */
function watch(key) {
  const ask = async () => {
    try {
      const answer = await fetch("/api/plans/progress");
      const { plans } = await answer.json();
      const own = plans.find((one) => one.key === key);
      if (own) amount.textContent = own.waiting ? "Another plan is worked out first." : `Working it out: ${own.what}${own.total ? `, ${own.done} of ${own.total}` : ""}.`;
    } catch {
      // the plan itself says when there is no answer
    }
  };
  const timer = setInterval(ask, ASK_MS);
  return () => clearInterval(timer);
}

form.addEventListener("click", (event) => {
  const button = event.target.closest("#found button");
  if (!button) return;
  field("true_mean").value = button.dataset.mean;
  field("true_sd").value = button.dataset.sd;
  field("true_form_sd").value = button.dataset.form;
  field("true_mean").focus();
});
form.addEventListener("input", refreshForm);
form.addEventListener("change", (event) => {
  if (event.target === quantity) takeQuantity();
  refreshForm();
});

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const { body, faults } = gather();
  if (faults.length) return showFaults(form, summary, faults);
  clearFaults(form, summary);
  rememberPerson(body.by);
  const sent = act.body(body);
  go.disabled = true;
  amount.textContent = "Working it out.";
  const stop = watch(sent.key);
  const answer = await post("/api/plans", sent);
  stop();
  go.disabled = false;
  refreshForm();
  if (!answer.ok) return showFaults(form, summary, answer.faults);
  location.assign(`/plans/${answer.reply.plan}`);
});

offerPerson(form.elements.by);
takeQuantity();
refreshForm();
