/** Sending a recording: how far it is, and the answer in the shape that `post` gives. */

const NO_ANSWER = {
  where: "ballbench",
  found: "no answer",
  allowed: "an answer from the computer that ballbench runs on",
  todo: "see that it still runs and that this device is in the same network, then send again; the recording stays where it is",
};

function oddAnswer(status) {
  const todo = "send again; if it stays so, start ballbench again";
  return { where: "ballbench", found: `an answer with status ${status} and no reason`, allowed: "an answer with a reason", todo };
}

/** Most that the bench takes at once, less what a form has around a file. */
const MOST_BYTES = 64 * 1024 * 1024 - 8192;

/** What is wrong with a file before it is sent; null: nothing. */
export function fileFault(file) {
  if (!file) {
    const todo = "choose one that this device has, or record one now";
    return { where: "file", found: "nothing", allowed: "a recording", todo };
  }
  if (file.size <= MOST_BYTES) return null;
  const found = `a file of ${Math.ceil(file.size / 1024 / 1024)} MiB`;
  return { where: "file", found, allowed: "at most 64 MiB", todo: "cut out the part with the ball, or film with fewer pixels" };
}

/** Faults of what is typed, which are shown at their fields, and the others: of the recording, or of what was mended. */
export function byField(faults) {
  const typed = faults.filter((fault) => fault.where.startsWith("option "));
  return { typed, others: faults.filter((fault) => !typed.includes(fault)) };
}

/** Send a form; `onWay` is told shares from 0 to 1. Gives {ok, status, reply, faults} and never throws. */
export function send(address, form, onWay) {
  return new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.open("POST", address);
    request.setRequestHeader("Ballbench-Sender-Time", new Date().toISOString());
    request.upload.addEventListener("progress", (event) => {
      if (event.lengthComputable) onWay(event.loaded / event.total);
    });
    request.addEventListener("error", () => resolve({ ok: false, status: 0, reply: null, faults: [NO_ANSWER] }));
    request.addEventListener("load", () => {
      let reply = null;
      try {
        reply = JSON.parse(request.responseText);
      } catch {
        // Said below.
      }
      const ok = request.status >= 200 && request.status < 300 && reply !== null;
      const faults = ok ? [] : reply?.faults?.length ? reply.faults : [oddAnswer(request.status)];
      resolve({ ok, status: request.status, reply, faults });
    });
    request.send(form);
  });
}

/** Show how far a recording is on its way; null hides it. */
export function showWay(bar, words, share) {
  bar.hidden = share === null;
  if (share === null) {
    bar.removeAttribute("value");
    words.textContent = "";
    return;
  }
  if (share < 1) bar.value = share;
  else bar.removeAttribute("value");
  const text = share < 1 ? "The recording is on its way." : "It is there and is being worked out.";
  if (words.textContent !== text) words.textContent = text;
}
