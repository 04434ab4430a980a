/** Writing to the notebook: a key for each act, the name of this tab, the person at the bench, one way to post. */

/** A new random UUID (RFC 9562, version 4); `randomUUID` itself is missing on plain http in a local network. */
export function newKey() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/** Read from the browser's store; a browser that keeps nothing gives null. */
function kept(store, name) {
  try {
    return window[store].getItem(name);
  } catch {
    return null;
  }
}

function keep(store, name, value) {
  try {
    window[store].setItem(name, value);
  } catch {
    // A browser that keeps nothing asks for the name anew on every page.
  }
}

let tab = kept("sessionStorage", "ballbench.client");

/** The UUID of this browser tab. */
export function client() {
  if (!tab) {
    tab = newKey();
    keep("sessionStorage", "ballbench.client", tab);
  }
  return tab;
}

/** Who was at the bench last in this browser; empty: nobody yet. */
export function person() {
  return kept("localStorage", "ballbench.by") || "";
}

export function rememberPerson(name) {
  if (name) keep("localStorage", "ballbench.by", name);
}

/** Put the remembered person into an empty name field. */
export function offerPerson(field) {
  if (!field.value) field.value = person();
}

/**
 * An act that may have to be sent twice: while what is sent stays the same, so does its key. An act that got through
 * is over, and the next one has a new key even with the same words.
 */
export class Act {
  #key = newKey();
  #sent = "";

  /** The body to send: what was typed, with key, tab and time. */
  body(typed) {
    const words = JSON.stringify(typed);
    if (this.#sent && words !== this.#sent) this.#key = newKey();
    this.#sent = words;
    return { key: this.#key, client: client(), at: new Date().toISOString(), ...typed };
  }

  done() {
    this.#key = newKey();
    this.#sent = "";
  }
}

const noAnswer = {
  where: "ballbench",
  found: "no answer",
  allowed: "an answer from the computer that ballbench runs on",
  todo: "see that it still runs and that this device is in the same network, then send again; nothing typed here is lost",
};

/** Say what an answer of another kind than JSON was. */
function oddAnswer(status) {
  return {
    where: "ballbench",
    found: `an answer with status ${status} and no reason`,
    allowed: "an answer with a reason",
    todo: "send again; if it stays so, start ballbench again",
  };
}

/** Post JSON or a form; give {ok, status, reply, faults}. It never throws. */
export async function post(address, body) {
  const isForm = body instanceof FormData;
  let answer;
  try {
    answer = await fetch(address, {
      method: "POST",
      headers: {
        "Ballbench-Sender-Time": new Date().toISOString(),
        ...(isForm ? {} : { "Content-Type": "application/json" }),
      },
      body: isForm ? body : JSON.stringify(body),
    });
  } catch {
    return { ok: false, status: 0, reply: null, faults: [noAnswer] };
  }
  let reply;
  try {
    reply = await answer.json();
  } catch {
    return { ok: false, status: answer.status, reply: null, faults: [oddAnswer(answer.status)] };
  }
  if (answer.ok) return { ok: true, status: answer.status, reply, faults: [] };
  return { ok: false, status: answer.status, reply, faults: reply.faults?.length ? reply.faults : [oddAnswer(answer.status)] };
}
