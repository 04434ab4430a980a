/** A recording that belongs to no test: sent, read, mended, and nothing of it kept. */

import { dropDraft, keepDraft, offerToClear, takeUpDraft, watchDraft } from "../drafts.js";
import { clearFaults, showFaults } from "../faults.js";
import { followStated, sayStated } from "./in_detail.js";
import { byField, fileFault, send, showWay } from "./sending.js";
import { hide, show, showNoResult } from "./telling.js";

const form = document.getElementById("recording");
const summary = document.getElementById("faults");
const bar = document.getElementById("way");
const said = document.getElementById("said");
const name = form.dataset.address.replace("/api/", "");
let turn = 0;
let sent = null;
let mended = null; // picks or marks that what is told is of; null: what was found
let told = false;

function body(file, picks) {
  const made = new FormData();
  for (const field of form.querySelectorAll("[data-stated]")) made.append(field.dataset.stated, field.value.trim());
  if (picks) made.append("picks", JSON.stringify(picks));
  made.append("file", file, file.name);
  return made;
}

function isSame(file, other) {
  return other !== null && ["name", "size", "lastModified"].every((key) => file[key] === other[key]);
}

async function tell(file, picks, fresh) {
  const own = ++turn;
  if (fresh) hide();
  const onWay = fresh ? (share) => own === turn && showWay(bar, said, share) : () => {};
  const answer = await send(form.dataset.address, body(file, picks), onWay);
  if (own !== turn) return;
  showWay(bar, said, null);
  if (!answer.ok) {
    const { typed, others } = byField(answer.faults);
    if (!fresh) showNoResult(others);
    if (fresh || typed.length) showFaults(form, summary, fresh ? answer.faults : typed);
    return;
  }
  clearFaults(form, summary);
  told = true;
  mended = picks;
  show(answer.reply, (changed) => tell(sent, changed, false), { fresh });
  if (fresh) said.textContent = answer.reply.refused ? "It could not be read; why stands below." : "It was read; what it tells stands below.";
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  const [file] = document.getElementById("file").files;
  const fault = fileFault(file);
  if (fault) return showFaults(form, summary, [fault]);
  // Something else stated does not undo what was mended in the same file.
  const picks = isSame(file, sent) ? mended : null;
  sent = file;
  tell(file, picks, true);
});

// What was typed stays in this tab; the recording itself cannot, and is chosen again.
watchDraft(form, () => keepDraft(name, form));
offerToClear(document.getElementById("anew"), said, {
  loses: () => (told ? "What this recording tells goes, and what you mended: take it away as JSON first, or press again." : ""),
  clear: () => {
    turn += 1;
    told = false;
    sent = mended = null;
    dropDraft(name);
    form.reset();
    sayStated(form);
    for (const field of form.querySelectorAll("[data-typed]")) delete field.dataset.typed;
    clearFaults(form, summary);
    showWay(bar, said, null);
    hide();
    document.getElementById("file").focus();
  },
});
if (takeUpDraft(name, form).any) said.textContent = "What you typed stands here again; choose the recording again.";
followStated(form);
