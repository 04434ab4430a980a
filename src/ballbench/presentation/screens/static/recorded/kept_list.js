/** The list of a test's recordings: it follows what anybody does, and what is in hand beside it stays as it is. */

import { refresh } from "../refreshing.js";

const PART = "kept-part";
const QUIET_MS = 250;
/** What changes the list: a recording that came, a reading that was kept from one, or what was said of it later. */
const KINDS = new Set(["recording", "entry", "taken back", "amended"]);

let waiting = null;

/** Follow the list; `onRead` is told the button of a recording that is to be read. */
export function followKept(test, onRead) {
  const part = () => document.getElementById(PART);
  // The part is written anew when it changes: what is pressed in it is heard by the page.
  document.getElementById("main").addEventListener("click", (event) => {
    const button = event.target.closest(`#${PART} [data-digest]`);
    if (button) onRead(button);
  });
  const stream = new EventSource(`/api/tests/${test}/live?after=${part().dataset.revision}`);
  stream.addEventListener("change", (event) => {
    if (!KINDS.has(JSON.parse(event.data).kind)) return;
    clearTimeout(waiting);
    waiting = setTimeout(anew, QUIET_MS);
  });
  window.addEventListener("pagehide", () => stream.close());
}

/** Write the list anew; the button that has the focus keeps it. */
async function anew() {
  const held = document.activeElement?.closest(`#${PART} [data-digest]`)?.dataset.digest;
  await refresh([PART]);
  if (held) document.querySelector(`#${PART} [data-digest="${held}"]`)?.focus({ preventScroll: true });
}
