/** Asking the server: what it answers is a reply, a refusal to be shown, that it could not, or no answer at all. */

const PATIENCE_MS = 8000; // a server beside the bench that is silent so long is not there (own choice)
const LATER = new Set([403, 408, 421, 425, 429]); // a device to be paired again, or a server that is busy

/**
 * @typedef {{kind: "reply", reply: object}} Replied
 * @typedef {{kind: "refused", status: number, faults: import("./records.js").Fault[]}} Refused a final no
 * @typedef {{kind: "failed", status: number, title: string}} Failed the server answered that it could not; to be tried again
 * @typedef {{kind: "down", why: string}} Down no answer of the server's; to be tried again
 */

/**
 * Send one thing.
 * @param {string} address
 * @param {object} body
 * @param {?string} [notebook] for which it is meant; another one refuses it
 * @returns {Promise<Replied|Refused|Failed|Down>}
 */
export const send = (address, body, notebook = null) =>
  ask(address, {
    method: "POST",
    headers: {
      "content-type": "application/json",
      accept: "application/json",
      "ballbench-sender-time": new Date().toISOString(), // this device's clock may be wrong
      ...(notebook ? { "Ballbench-Notebook": notebook } : {}),
    },
    body: JSON.stringify(body),
  });

/** Fetch one thing. @param {string} address @returns {Promise<Replied|Refused|Failed|Down>} */
export const fetchOne = (address) => ask(address, { headers: { accept: "application/json" }, cache: "no-store" });

/** Send without waiting for an answer, as the page is left. @param {string} address @param {object} body */
export function sendOff(address, body) {
  const headers = { "content-type": "application/json" };
  fetch(address, { method: "POST", headers, body: JSON.stringify(body), keepalive: true }).catch(() => undefined);
}

async function ask(address, options) {
  const giveUp = new AbortController();
  const timer = setTimeout(() => giveUp.abort(), PATIENCE_MS);
  try {
    const response = await fetch(address, { ...options, signal: giveUp.signal });
    const text = await response.text();
    return answerOf(response.status, text);
  } catch {
    return { kind: "down", why: "" };
  } finally {
    clearTimeout(timer);
  }
}

/**
 * Say what an answer is.
 * @param {number} status
 * @param {string} text of the answer
 * @returns {Replied|Refused|Failed|Down}
 */
export function answerOf(status, text) {
  const told = parsed(text);
  if (status >= 200 && status < 300) {
    return told ? { kind: "reply", reply: told } : { kind: "down", why: "what answers there is not the bench" };
  }
  const faults = Array.isArray(told?.faults) ? told.faults : [];
  if (status >= 400 && status < 500 && !LATER.has(status)) {
    return { kind: "refused", status, faults: faults.length > 0 ? faults : [unnamed(status)] };
  }
  if (status >= 500) {
    return { kind: "failed", status, title: told?.title ?? `answer ${status} without a reason` };
  }
  return { kind: "down", why: faults[0]?.todo ?? "" };
}

function parsed(text) {
  try {
    const told = JSON.parse(text);
    return typeof told === "object" ? told : null;
  } catch {
    return null;
  }
}

const unnamed = (status) => ({
  where: "the server",
  found: `answer ${status} without a reason`,
  allowed: "an answer that says why",
  todo: "load the page again",
});
