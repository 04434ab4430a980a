/** The ramp: balls rolled as placed and turned, about each of three axes. */

import { begin, lastField } from "./aid_entries.js";

const SAME = ["product", "ball", "orientation", "direction"];
const AXES = ["A", "B", "C"];

begin({
  copied: ["product", "orientation", "direction"],
  needed: ["veer"],
  grouped: ["product", "ball"],
  units: () => ({ unit: document.getElementById("unit").value }),
  extra: (read, before) => ({
    repeat: String(1 + before.filter((other) => SAME.every((column) => other[column] === read[column])).length),
  }),
});

function put(column, value) {
  const field = lastField(column);
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

/** The next run of a ball: turned after as placed, then the next axis; after the last axis the first again. */
document.getElementById("again").addEventListener("click", () => {
  if (lastField("direction").value === "as placed") return put("direction", "turned");
  put("direction", "as placed");
  put("orientation", AXES[(AXES.indexOf(lastField("orientation").value) + 1) % AXES.length]);
});

document.getElementById("next").addEventListener("click", () => {
  put("direction", "as placed");
  put("orientation", "A");
});
