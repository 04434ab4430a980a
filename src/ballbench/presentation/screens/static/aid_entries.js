/** Entries of a bench aid: rows that are typed, kept in this tab, sent as a table, taken away and typed in as CSV. */

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
const place = `ballbench.${name}`;
const QUIET_MS = 500;

let own = { copied: [], needed: [], extra: () => ({}), units: () => ({}) };
let asked = 0;
let waiting = null;

function entries() {
  return [...rows.querySelectorAll(".entry")];
}

function fields(entry) {
  return new Map(Array.from(entry.querySelectorAll("[data-column]"), (field) => [field.dataset.column, field]));
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
  const units = own.units();
  for (const part of document.querySelectorAll(".unit-of")) part.textContent = units[part.dataset.unit] ?? "";
}

/** Add a row; `values` by column. */
export function addEntry(values) {
  const entry = document.getElementById("entry").content.cloneNode(true).firstElementChild;
  for (const [column, field] of fields(entry)) {
    if (values[column] || (values[column] === "" && field.tagName === "INPUT")) field.value = values[column];
  }
  entry.querySelector(".remove").addEventListener("click", () => {
    entry.remove();
    changed();
  });
  rows.append(entry);
  nameRows();
  return entry;
}

/** 07 becomes 08, ball A stays. */
function counted(text) {
  const [, before, digits] = /^(.*?)(\d*)$/.exec(text);
  return digits ? before + String(Number(digits) + 1).padStart(digits.length, "0") : "";
}

function startOfNext(nextBall) {
  const last = entries().at(-1);
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
  try {
    const common = [...commons, ...ofNext].map((field) => field.value);
    sessionStorage.setItem(place, JSON.stringify({ common, entries: entries().map(cells) }));
  } catch {
    // A browser that keeps nothing: the page says to take the entries away.
  }
}

function takeUp() {
  try {
    const had = JSON.parse(sessionStorage.getItem(place));
    for (const [i, field] of [...commons, ...ofNext].entries()) field.value = had.common[i] ?? field.value;
    had.entries.forEach(addEntry);
  } catch {
    // Nothing was kept.
  }
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
  keep();
  nameRows();
  said.textContent = `${reply.entries.length} entries were typed in.`;
}

/**
 * Begin. `copied`: columns that the next entry takes over; `needed`: columns without which an entry says nothing;
 * `extra`: further columns of a line, from its cells and those of the lines before; `units`: words beside labels.
 */
export function begin(options) {
  own = { ...own, ...options };
  takeUp();
  if (!entries().length) addEntry(startOfNext(true));
  form.addEventListener("input", changed);
  form.addEventListener("change", changed);
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
  return fields(entries().at(-1)).get(column);
}
