/** Recordings of a test: sent and kept, read, mended, and their values kept as readings of a ball. */

import { dropDraft, keepDraft, takeUpDraft, watchDraft } from "../drafts.js";
import { clearFaults, showFaults } from "../faults.js";
import { Act, newKey, client, offerPerson, post, rememberPerson } from "../posting.js";
import { followStated } from "./in_detail.js";
import { followKept } from "./kept_list.js";
import { byField, fileFault, send, showWay } from "./sending.js";
import { hide, isSettled, show, showNoResult } from "./telling.js";

const form = document.getElementById("recording");
const summary = document.getElementById("faults");
const bar = document.getElementById("way");
const said = document.getElementById("said");
const place = document.getElementById("place");
const method = document.getElementById("method");
const values = document.getElementById("values");
const valuesPart = document.getElementById("values-part");
const keptSaid = document.getElementById("kept-said");
const ask = document.getElementById("ask");
const home = `/api/tests/${form.dataset.test}`;
const draft = `recordings.${form.dataset.test}`;
const act = new Act();
/** A value is said to be less sure from so many times what its instrument was set up with (own choice). */
const TOO_UNSURE = 1.5;

let turn = 0;
let now = null;
let upload = { key: newKey(), words: "" };
offerPerson(form.elements.by);

// What is asked -------------------------------------------------------------------------------------------------------

function quantity() {
  return place.selectedOptions[0]?.dataset.quantity ?? "";
}

/** Only what fits the quantity can be chosen, and only what that method asks for is shown. */
function fit() {
  if (!place.selectedOptions.length) return;
  for (const option of method.options) {
    const fits = option.dataset.quantities.split(" ").includes(quantity());
    option.hidden = option.disabled = !fits;
  }
  if (!method.selectedOptions[0] || method.selectedOptions[0].disabled) {
    method.value = [...method.options].find((option) => !option.disabled)?.value ?? "";
  }
  const chosen = method.selectedOptions[0];
  for (const part of form.querySelectorAll("[data-of-method]")) part.hidden = part.dataset.ofMethod !== method.value;
  document.getElementById("file").accept = chosen?.dataset.accept ?? "";
  const field = document.getElementById("trace-diameter");
  if (!field || (field.value && field.value !== field.dataset.filled)) return;
  field.value = field.dataset.filled = place.selectedOptions[0]?.dataset.diameter ?? "";
}

function stated() {
  const own = form.querySelectorAll(`[data-of-method="${method.value}"] [data-stated]`);
  return Object.fromEntries(Array.from(own, (field) => [field.dataset.stated, field.value.trim()]));
}

/** Show faults at the fields that are seen: those of another method have the same names. */
function sayFaults(faults) {
  const seen = [...form.querySelectorAll("[data-where]")].filter((field) => !field.closest("[hidden]"));
  showFaults(form, summary, faults, new Map(seen.map((field) => [field.dataset.where, field])));
}

// Reading it ----------------------------------------------------------------------------------------------------------

async function tell(digest, picks, fresh) {
  const own = ++turn;
  if (fresh) {
    hide();
    valuesPart.hidden = true;
    showWay(bar, said, 1);
  }
  const asked = { method: method.value, stated: stated(), picks };
  const of = place.value ? { place: Number(place.value) } : {};
  const answer = await post(`${home}/recordings/${digest}/told`, { ...asked, ...of });
  if (own !== turn) return;
  if (fresh) showWay(bar, said, null);
  if (!answer.ok) {
    valuesPart.hidden = true;
    const { typed, others } = byField(answer.faults);
    if (!fresh) showNoResult(others);
    if (fresh || typed.length) sayFaults(fresh ? answer.faults : typed);
    return;
  }
  clearFaults(form, summary);
  now = { digest, asked, values: answer.reply.values };
  show(answer.reply, (changed) => tell(digest, changed, false), { fresh });
  showValues();
  if (!fresh) return;
  said.textContent = answer.reply.refused ? "It could not be read; why stands below." : "It was read; what it tells stands below.";
  const seen = [...document.querySelectorAll("section.mend")].find((part) => !part.hidden);
  (seen ?? valuesPart).scrollIntoView({ block: "start" });
}

/** What to say of a value that is much less sure than its instrument was set up to be; empty: nothing. */
function lessSure(one) {
  const stated = Number(place.selectedOptions[0]?.dataset.u ?? NaN);
  if (!(one.u > TOO_UNSURE * stated)) return "";
  const figures = (u) => `${Number(u.toPrecision(2))}${one.unit === "1" ? "" : ` ${one.unit}`}`;
  return ` Less sure than the instrument was set up to be: standard uncertainty ${figures(one.u)}, set up with ${figures(stated)}. It is judged as if it were as sure as that.`;
}

function showValues() {
  const own = now.values.filter((one) => one.quantity === quantity());
  valuesPart.hidden = false;
  ask.hidden = true;
  keptSaid.textContent = "";
  document.getElementById("values-none").hidden = own.length > 0 || !quantity();
  values.replaceChildren(...own.map((one) => {
    const line = document.createElement("li");
    const words = document.createElement("span");
    words.textContent = `${one.words}: ${one.said}.${lessSure(one)}`;
    const button = document.createElement("button");
    button.type = "button";
    button.className = "main";
    button.textContent = "Keep as reading";
    button.setAttribute("aria-label", `Keep as reading: ${one.words}`);
    button.addEventListener("click", () => keep(one, line, button, ""));
    line.append(words, button);
    return line;
  }));
}

// Keeping it ----------------------------------------------------------------------------------------------------------

async function keep(value, line, button, confirms) {
  if (!isSettled()) {
    keptSaid.textContent = "Something was moved or left out; wait until it is worked out anew.";
    return;
  }
  const by = form.elements.by.value.trim();
  rememberPerson(by);
  button.disabled = true;
  const typed = { by, place: Number(place.value), value: value.name, ...now.asked, confirms };
  const answer = await post(`${home}/recordings/${now.digest}/readings`, act.body(typed));
  button.disabled = false;
  if (!answer.ok) return sayFaults(answer.faults);
  act.done();
  clearFaults(form, summary);
  if (answer.reply.status === "asked") return question(value, line, answer.reply.question);
  ask.hidden = true;
  const reading = answer.reply.reading;
  const words = place.selectedOptions[0].textContent;
  line.replaceChildren(`${value.words}: kept.`);
  dropDraft(draft);
  await next(reading);
  if (!quantity()) values.replaceChildren();
  keptSaid.textContent = `Kept as reading of ${words}: ${reading.text}${reading.unit === "1" ? "" : ` ${reading.unit}`}.`;
  keptSaid.focus();
}

function question(value, line, asked) {
  document.getElementById("ask-why").textContent = `${asked.text}${asked.unit === "1" ? "" : ` ${asked.unit}`}: ${asked.why}. Is it the right ball, and is the recording read right?`;
  const yes = document.getElementById("ask-keep");
  yes.onclick = () => keep(value, line, yes, asked.key);
  document.getElementById("ask-leave").onclick = () => {
    ask.hidden = true;
    line.querySelector("button")?.focus();
  };
  ask.hidden = false;
  yes.focus();
}

/** The place is read: the next one of the same ball and quantity takes its line, else the line goes. */
async function next(reading) {
  let state;
  try {
    state = await (await fetch(`${home}/bench`)).json();
  } catch {
    return; // It is kept; the list is put right when the page is loaded again.
  }
  const option = place.selectedOptions[0];
  const alike = (one) => one.ball === reading.ball && one.quantity === reading.quantity && one.axis === reading.axis;
  const left = state.places.find((one) => alike(one) && !one.filled);
  if (left) option.value = left.id;
  else option.remove();
  if (!left) place.selectedIndex = -1; // nothing is in hand then: the next ball is for a person to choose
}

// The way in ----------------------------------------------------------------------------------------------------------

async function uploaded(file) {
  const by = form.elements.by.value.trim();
  const words = [file.name, file.size, file.lastModified, by].join("\n");
  if (words !== upload.words) upload = { key: newKey(), words };
  const made = new FormData();
  made.append("key", upload.key);
  made.append("client", client());
  made.append("at", new Date().toISOString());
  made.append("by", by);
  made.append("file", file, file.name);
  return send(`${home}/recordings`, made, (share) => showWay(bar, said, share));
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const [file] = document.getElementById("file").files;
  rememberPerson(form.elements.by.value.trim());
  const fault = fileFault(file);
  if (fault) return sayFaults([fault]);
  hide();
  valuesPart.hidden = true;
  const answer = await uploaded(file);
  showWay(bar, said, null);
  if (!answer.ok) return sayFaults(answer.faults);
  const { digest } = answer.reply;
  const isSame = now?.digest === digest && now.asked.method === method.value;
  await tell(digest, isSame ? now.asked.picks : null, true); // sent again, it is as it was mended
});

/** What a person put right in a recording before, by the method that it is read by now. */
function pickedBefore(button) {
  return JSON.parse(button.dataset.picks ?? "{}")[method.value] ?? null;
}

followKept(Number(form.dataset.test), (button) => {
  now = null;
  tell(button.dataset.digest, pickedBefore(button), true);
});

/** Another ball may take the same recording, with the picks as they are; another method reads it afresh. */
place.addEventListener("change", () => {
  const before = method.value;
  fit();
  if (now && before === method.value) tell(now.digest, now.asked.picks, false);
  else if (now) tell(now.digest, null, true);
});
method.addEventListener("change", () => {
  fit();
  if (now) tell(now.digest, null, true);
});
form.addEventListener("change", (event) => {
  if (now && event.target.dataset.stated) tell(now.digest, now.asked.picks, false);
});
watchDraft(form, () => keepDraft(draft, form));
takeUpDraft(draft, form);
followStated(form);
const wanted = new URLSearchParams(location.search).get("place");
if ([...place.options].some((option) => option.value === wanted)) place.value = wanted;
fit();
