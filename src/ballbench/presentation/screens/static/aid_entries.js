/** Entries of a bench aid: rows that are typed, kept in this tab, sent as a table, taken away and typed in as CSV. */

import { dropDraft, keepDraft, offerToClear, takeUpDraft, watchDraft } from "./drafts.js";
import { clearFaults, showFaults } from "./faults.js";
import { post } from "./posting.js";

const form = document.getElementById("entries");
const summary = document.getElementById("faults");
const rows = document.getElementById("rows");
const said = document.getElementById("said");
const told = document.getElementById("told");
const name = form.dataset.name;
const commons = [...form.querySelectorAll("[data-common]")];
const ofNext = [...form.querySelectorAll("[data-of-next]")];
const QUIET_MS = 500;

let own = { copied: [], needed: [], grouped: [], extra: () => ({}), units: () => ({}) };
let asked = 0;
let waiting = null;

function entries() {
  return [...rows.querySelectorAll(".entry")];
}

/** The fields of an entry by column; those that its group has for all of its entries come first. */
function fields(entry) {
  const shared = entry.closest(".group")?.querySelectorAll(".whose [data-column]") ?? [];
  const all = [...shared, ...entry.querySelectorAll("[data-column]")];
  return new Map(all.map((field) => [field.dataset.column, field]));
}

function cells(entry) {
  return Object.fromEntries([...fields(entry)].map(([column, field]) => [column, field.value.trim()]));
}

function nameRows() {
  for (const [i, entry] of entries().entries()) {
    const { product, ball } = cells(entry);
    const whose = [product, ball && `ball ${ball}`].filter(Boolean).join(", ");
    entry.querySelector("legend").textContent = whose ? `Entry ${i + 1}: ${whose}` : `Entry ${i + 1}`;
  }
  for (const group of rows.querySelectorAll(".group")) nameGroup(group);
  const units = own.units();
  for (const part of document.querySelectorAll(".unit-of")) part.textContent = units[part.dataset.unit] ?? "";
}

function nameGroup(group) {
  const several = [...group.querySelectorAll(".entry")];
  const { product, ball } = cells(several[0]);
  const whose = [product, ball && `ball ${ball}`].filter(Boolean).join(", ") || "Ball";
  const left = several.filter((entry) => !complete(entry)).length;
  const runs = several.length === 1 ? "1 run" : `${several.length} runs`;
  group.querySelector("summary").textContent = `${whose}: ${runs}${left ? `, ${left} to write down` : ""}`;
  group.querySelector(".whose > legend").textContent = whose;
}

function put(all, values) {
  for (const [column, field] of all) {
    if (values[column] || (values[column] === "" && field.tagName === "INPUT")) field.value = values[column];
  }
}

/** Where an entry goes: the rows themselves, or the group that has its values, which is made where there is none. */
function homeOf(values) {
  if (!own.grouped.length) return rows;
  const groups = [...rows.querySelectorAll(".group")];
  const alike = (group) => own.grouped.every((column) => cells(group.querySelector(".entry"))[column] === (values[column] ?? ""));
  const found = groups.find(alike);
  if (found) return found.querySelector(".runs");
  const made = document.getElementById("group").content.cloneNode(true).firstElementChild;
  for (const group of groups) group.open = false;
  rows.append(made);
  return made.querySelector(".runs");
}

/** Add a row; `values` by column. */
export function addEntry(values) {
  const entry = document.getElementById("entry").content.cloneNode(true).firstElementChild;
  homeOf(values).append(entry);
  const group = entry.closest(".group");
  if (group) group.open = true;
  put(fields(entry), values);
  entry.querySelector(".remove").addEventListener("click", () => {
    const next = entry.nextElementSibling ?? entry.previousElementSibling;
    entry.remove();
    if (group && !group.querySelector(".entry")) group.remove();
    (next ?? entries().at(-1))?.querySelector("[data-column]").focus();
    changed();
  });
  nameRows();
  return entry;
}

/** The entry that was worked on last: the last one of the group that stands open last, else the last of all. */
function lastEntry() {
  const open = [...rows.querySelectorAll(".group[open] .entry")];
  return open.at(-1) ?? entries().at(-1);
}

/** 07 becomes 08, ball A stays. */
function counted(text) {
  const [, before, digits] = /^(.*?)(\d*)$/.exec(text);
  return digits ? before + String(Number(digits) + 1).padStart(digits.length, "0") : "";
}

function startOfNext(nextBall) {
  const last = nextBall ? entries().at(-1) : lastEntry();
  const values = Object.fromEntries(ofNext.map((field) => [field.dataset.ofNext, field.value.trim()]));
  if (!last) return { ...values, ball: "01" };
  const before = cells(last);
  for (const column of own.copied) values[column] = before[column];
  values.ball = nextBall ? counted(before.ball) : before.ball;
  return values;
}

function go(nextBall) {
  const entry = addEntry(startOfNext(nextBall));
  const all = [...fields(entry).values()];
  (all.find((field) => !field.value) ?? all[0]).focus();
  keep();
}

// The table ------------------------------------------------------------------------------------------------------------

/** Entries in which somebody wrote something of their own. */
function begun() {
  return entries().filter((entry) => own.needed.some((column) => fields(entry).get(column).value.trim()));
}

function complete(entry) {
  return own.needed.every((column) => fields(entry).get(column).value.trim());
}

function quoted(text) {
  return /[";\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

/** The table as CSV: semicolons between cells, so that a decimal comma may stay one. */
function table(several) {
  const common = Object.fromEntries(commons.map((field) => [field.dataset.common, field.value.trim()]));
  const lines = several.map((entry, i) => {
    const read = cells(entry);
    return { ...read, ...common, ...own.extra(read, several.slice(0, i).map(cells)) };
  });
  const columns = [...new Set(lines.flatMap(Object.keys))];
  return [columns, ...lines.map((line) => columns.map((column) => quoted(line[column] ?? "")))]
    .map((line) => line.join(";"))
    .join("\n") + "\n";
}

/** Every cell of the table, and the common fields, by the place that a fault names. */
function places(several) {
  const found = new Map();
  for (const [i, entry] of several.entries()) {
    for (const field of commons) found.set(`entries.csv, line ${i + 2}, column ${field.dataset.common}`, field);
    for (const [column, field] of fields(entry)) found.set(`entries.csv, line ${i + 2}, column ${column}`, field);
    found.set(`entries.csv, line ${i + 2}`, fields(entry).values().next().value);
  }
  return found;
}

async function tell(csv, several, loud) {
  const turn = ++asked;
  if (loud) said.textContent = "Working it out.";
  const answer = await post(form.dataset.address, { csv, spec: form.elements.spec.value });
  if (turn !== asked) return null;
  said.textContent = "";
  if (!answer.ok) {
    if (loud) showFaults(form, summary, answer.faults, places(several));
    return null;
  }
  clearFaults(form, summary);
  const shown = new DOMParser().parseFromString(answer.reply.shown, "text/html");
  told.replaceChildren(...shown.body.childNodes);
  document.getElementById("told-part").hidden = false;
  said.textContent = several.length === 1 ? "1 entry is reckoned in, below." : `${several.length} entries are reckoned in, below.`;
  return answer.reply;
}

/** What was written so far; a row that is half written waits. */
function changed() {
  nameRows();
  keep();
  clearTimeout(waiting);
  waiting = setTimeout(() => {
    const done = begun();
    if (done.length && done.every(complete)) tell(table(done), done, false);
  }, QUIET_MS);
}

// Kept in this tab -----------------------------------------------------------------------------------------------------

function keep() {
  keepDraft(name, form, { entries: entries().map(cells) });
}

function takeUp() {
  const had = takeUpDraft(name, form);
  if (Array.isArray(had.entries)) had.entries.forEach(addEntry);
}

/** Begin anew: an empty page, as it was before anybody typed. */
function clear() {
  clearTimeout(waiting);
  asked += 1; // an answer that is on its way is of what is gone
  dropDraft(name);
  form.reset();
  for (const field of form.querySelectorAll("[data-typed]")) delete field.dataset.typed;
  clearFaults(form, summary);
  rows.replaceChildren();
  told.replaceChildren();
  document.getElementById("told-part").hidden = true;
  addEntry(startOfNext(true));
  fields(entries()[0]).values().next().value.focus();
}

function losing() {
  const many = begun().length;
  if (!many) return "";
  return `${many === 1 ? "1 entry goes" : `${many} entries go`} for good: take them away as CSV first, or press again.`;
}

function takeAway() {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([table(begun())], { type: "text/csv" }));
  link.download = `${name}.csv`;
  link.click();
  URL.revokeObjectURL(link.href);
}

async function typeIn(field) {
  const [file] = field.files;
  if (!file) return;
  clearTimeout(waiting);
  const reply = await tell(await file.text(), [], true);
  field.value = "";
  if (!reply) return;
  rows.replaceChildren();
  reply.entries.forEach(addEntry);
  const last = reply.entries.at(-1) ?? {};
  for (const one of commons) one.value = last[one.dataset.common] || one.value;
  for (const one of ofNext) one.value = last[one.dataset.ofNext] || one.value;
  for (const one of [...commons, ...ofNext]) one.dataset.typed = "yes";
  keep();
  nameRows();
  said.textContent = `${reply.entries.length} entries were typed in.`;
}

/**
 * Begin. `copied`: columns that the next entry takes over; `needed`: columns without which an entry says nothing;
 * `grouped`: columns that entries of one group have together, such as whose they are;
 * `extra`: further columns of a line, from its cells and those of the lines before; `units`: words beside labels.
 */
export function begin(options) {
  own = { ...own, ...options };
  takeUp();
  if (!entries().length) addEntry(startOfNext(true));
  watchDraft(form, changed);
  offerToClear(document.getElementById("anew"), said, { loses: losing, clear });
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    clearTimeout(waiting);
    const several = begun();
    tell(table(several.length ? several : entries()), several.length ? several : entries(), true);
  });
  document.getElementById("next").addEventListener("click", () => go(true));
  document.getElementById("again").addEventListener("click", () => go(false));
  document.getElementById("take-away").addEventListener("click", takeAway);
  document.getElementById("type-in").addEventListener("change", (event) => typeIn(event.target));
  nameRows();
  changed();
}

/** The last entry's field of a column. */
export function lastField(column) {
  return fields(lastEntry()).get(column);
}
