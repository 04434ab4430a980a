/** The press: balls under a load, and the clock that says how long. */

import { begin, lastField } from "./aid_entries.js";
import { typedNumber } from "./typed_numbers.js";

const clock = document.getElementById("clock");
const says = document.getElementById("clock-says");
const part = document.getElementById("clock-part");
const loadOn = document.getElementById("load-on");
const readNow = document.getElementById("read-now");
const wait = document.getElementById("wait");
const SAME = ["product", "quantity", "ball", "orientation", "direction", "load", "preload", "seconds"];

let since = null;
let ticking = null;

begin({
  copied: ["product", "orientation", "direction"],
  needed: ["deformation"],
  units: () => ({
    unit: document.getElementById("unit").value, load: document.getElementById("load-unit").value, seconds: "s",
  }),
  extra: (read, before) => ({
    repeat: String(1 + before.filter((other) => SAME.every((column) => other[column] === read[column])).length),
  }),
});

function seconds() {
  return (performance.now() - since) / 1000;
}

function show() {
  const due = typedNumber(wait.value);
  const now = seconds();
  clock.textContent = now.toFixed(1);
  const reached = Boolean(due) && now >= due;
  part.classList.toggle("is-due", reached);
  const words = reached ? "Read the gauge now." : due ? `Stand clear. Read at ${due} s.` : "Stand clear.";
  if (says.textContent !== words) says.textContent = words;
}

loadOn.addEventListener("click", () => {
  since = performance.now();
  clearInterval(ticking);
  ticking = setInterval(show, 100);
  loadOn.textContent = "Start again";
  readNow.disabled = false;
  show();
});

readNow.addEventListener("click", () => {
  const due = typedNumber(wait.value);
  const now = seconds();
  clearInterval(ticking);
  show();
  part.classList.remove("is-due");
  const after = due && Math.abs(now - due) <= 0.1 * due ? String(due) : now.toFixed(1);
  says.textContent = `Read after ${after} s. Write down what the gauge showed.`;
  loadOn.textContent = "The load is on";
  readNow.disabled = true;
  const field = lastField("seconds");
  field.value = after;
  field.dispatchEvent(new Event("input", { bubbles: true }));
  lastField("deformation").focus();
});
