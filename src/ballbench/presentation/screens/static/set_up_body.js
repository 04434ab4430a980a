/** What the set-up form says, as the body that is posted, with the field behind every place in it. */

import { noNumber, nothingThere, typedNumber } from "./typed_numbers.js";

/** A part of the body without what was left empty: the interface takes a missing field for "not said". */
export function said(part) {
  return Object.fromEntries(Object.entries(part).filter(([, value]) => value !== null && value !== ""));
}

/** Collects values, fields by place, and what is no number. */
export class Gathering {
  fields = new Map();
  faults = [];

  field(part, name) {
    return part.querySelector(`[name="${name}"]`);
  }

  text(part, name, where) {
    const field = this.field(part, name);
    if (!field) return "";
    this.fields.set(where, field);
    return field.value.trim();
  }

  /** A text that must not be empty. */
  name(part, name, where) {
    const text = this.text(part, name, where);
    if (!text) this.faults.push(nothingThere(where));
    return text;
  }

  /** A number that must not be missing. */
  count(part, name, where) {
    if (!this.field(part, name).value.trim()) this.faults.push(nothingThere(where));
    return this.number(part, name, where);
  }

  number(part, name, where) {
    const text = this.text(part, name, where);
    const value = typedNumber(text);
    if (Number.isNaN(value)) this.faults.push(noNumber(where, text));
    return Number.isNaN(value) ? null : value;
  }
}

function boxOf(gathering, part, where) {
  return said({
    label: gathering.name(part, "label", `${where}, label`),
    balls: gathering.count(part, "balls", `${where}, balls`),
    bought: gathering.text(part, "bought", `${where}, bought`),
    where: gathering.text(part, "where", `${where}, where`),
    price: gathering.text(part, "price", `${where}, price`),
    given_by: gathering.text(part, "given_by", `${where}, given_by`),
  });
}

/** Boxes of the notebook that are ticked. */
export function boxesAgain(form) {
  return [...form.querySelectorAll('[name="again"]:checked')];
}

function boxAgainOf(gathering, field, i) {
  gathering.fields.set(`boxes ${i + 1}`, field);
  return { box: Number(field.value) };
}

/** Whether nothing at all is typed for a make and its boxes. */
function isEmpty(make) {
  return [...make.querySelectorAll("input")].every((field) => field.value.trim() === field.defaultValue);
}

function makeOf(gathering, part, where) {
  const make = gathering.name(part, "make", `${where}, make`);
  const boxes = [...part.querySelectorAll(".box-of-balls")];
  return { make, boxes: boxes.map((box, i) => boxOf(gathering, box, `${where}, box ${i + 1}`)) };
}

function quantityOf(gathering, part, i, instruments) {
  const name = part.dataset.quantity;
  const where = `quantities ${i + 1}`;
  const places = gathering.text(part, "axes", `${where}, axes`).split(",").map((axis) => axis.trim()).filter(Boolean);
  const repeats = gathering.count(part, "repeats", `${where}, repeats`);
  let instrument = "";
  if (part.dataset.yesNo === "no") {
    const at = `instruments ${instruments.length + 1}`;
    instrument = gathering.name(part, "instrument", `${at}, name`);
    gathering.fields.set(`${where}, instrument`, gathering.field(part, "instrument"));
    const made = { name: instrument, quantity: name, unit: gathering.text(part, "unit", `${at}, unit`) };
    for (const number of ["resolution", "sd", "dof", "offset", "offset_sd", "scale_sd"]) {
      made[number] = gathering[number === "resolution" ? "count" : "number"](part, number, `${at}, ${number}`);
    }
    made.zeroed = gathering.text(part, "zeroed", `${at}, zeroed`);
    made.display = gathering.text(part, "display", `${at}, display`);
    instruments.push(said(made));
  }
  gathering.fields.set(`${where}, name`, gathering.field(part, "read"));
  return said({ name, axes: places, repeats, instrument });
}

function referenceOf(gathering, part, i, quantities) {
  const where = `references ${i + 1}`;
  const quantity = gathering.text(part, "quantity", `${where}, quantity`);
  return said({
    name: gathering.name(part, "name", `${where}, name`),
    quantity,
    value: gathering.count(part, "value", `${where}, value`),
    u: gathering.count(part, "u", `${where}, u`),
    unit: gathering.text(part, "unit", `${where}, unit`),
    instrument: quantities.find((one) => one.name === quantity)?.instrument ?? "",
  });
}

/** Quantities that are ticked. */
export function chosenQuantities(form) {
  return [...form.querySelectorAll(".quantity")].filter((part) => part.querySelector('[name="read"]').checked);
}

/** Conditions that were said, by name; null: none was. */
export function conditionsOf(part, fields) {
  const found = {};
  for (const field of part.querySelectorAll("[data-condition]")) {
    fields.set(`conditions, ${field.dataset.condition}`, field);
    if (field.value.trim()) found[field.dataset.condition] = field.value.trim();
  }
  return Object.keys(found).length ? found : null;
}

/** Give {body, fields, faults}: what to post, which field is behind which place, and what is no number. */
export function gather(form) {
  const gathering = new Gathering();
  const instruments = [];
  const quantities = chosenQuantities(form).map((part, i) => quantityOf(gathering, part, i, instruments));
  const again = boxesAgain(form);
  const makes = [...form.querySelectorAll(".make")].filter((part) => !again.length || !isEmpty(part));
  const risk = gathering.count(form, "risk", "risk");
  const body = said({
    by: gathering.name(form, "by", "by"),
    title: gathering.text(form, "title", "title"),
    requirement: form.dataset.requirement,
    plan: form.dataset.plan ? Number(form.dataset.plan) : null,
    boxes: again.length ? again.map((field, i) => boxAgainOf(gathering, field, i)) : null,
    makes: makes.map((part, i) => makeOf(gathering, part, `makes ${i + 1}`)),
    quantities,
    instruments,
    references: [...form.querySelectorAll(".reference")].map((part, i) => referenceOf(gathering, part, i, quantities)),
    blind: form.elements.blind.value === "yes",
    rule: form.elements.rule.value,
    risk: risk === null ? null : risk / 100,
    seed: gathering.number(form, "seed", "seed"),
    control_every: gathering.number(form, "control_every", "control_every"),
    invented: form.elements.invented.checked,
    conditions: conditionsOf(form, gathering.fields),
    reference_c: gathering.number(form, "reference_c", "reference_c"),
    expansion: gathering.number(form, "expansion", "expansion"),
    expansion_relative_sd: gathering.number(form, "expansion_relative_sd", "expansion_relative_sd"),
  });
  const named = { instruments: '.quantity [name="instrument"]', makes: '.make [name="make"]', quantities: '.quantity [name="read"]', references: "#add-reference" };
  for (const [where, which] of Object.entries(named)) {
    const field = document.querySelector(which);
    if (field) gathering.fields.set(where, field);
  }
  for (const where of ["blind", "rule", "invented"]) gathering.fields.set(where, form.querySelector(`[name="${where}"]`));
  return { body, fields: gathering.fields, faults: gathering.faults };
}
