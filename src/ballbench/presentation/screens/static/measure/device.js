/** What this device and this tab remember: who measures, what is switched on, which tab it is. */

const START = "ballbench.";

/** What a browser that remembers nothing forgets with this page. @type {Map<string, string>} */
const memory = new Map();

/** Read a remembered text; null: none. */
function recall(storage, name) {
  try {
    return storage().getItem(START + name);
  } catch {
    return memory.get(name) ?? null;
  }
}

function remember(storage, name, text) {
  try {
    storage().setItem(START + name, text);
  } catch {
    memory.set(name, text);
  }
}

const device = () => localStorage;
const tab = () => sessionStorage;

/** Who measures at this device; empty: not asked yet. */
export const person = () => recall(device, "by") ?? "";
export const setPerson = (name) => remember(device, "by", name.trim());

/** Whether a switch is on. @param {string} name @param {boolean} usual */
export const isOn = (name, usual) => (recall(device, `switch.${name}`) ?? (usual ? "on" : "off")) === "on";
export const setOn = (name, on) => remember(device, `switch.${name}`, on ? "on" : "off");

/** The place that was in hand last in a test, with how often it had been put off; null: none. */
export function lastPlace(test) {
  const text = recall(tab, `place.${test}`) ?? recall(device, `place.${test}`);
  const parts = (text ?? "").split(" ").map(Number);
  return parts.length === 2 && parts.every(Number.isInteger) ? { place: parts[0], putOff: parts[1] } : null;
}

export function setLastPlace(test, place, putOff) {
  remember(tab, `place.${test}`, `${place} ${putOff}`);
  remember(device, `place.${test}`, `${place} ${putOff}`);
}

/** Questions that the person cleared in this tab. @returns {string[]} */
export const cleared = () => (recall(tab, "cleared") ?? "").split(" ").filter(Boolean);
export const setCleared = (keys) => remember(tab, "cleared", keys.slice(-100).join(" "));

/** A new random UUID (RFC 9562, version 4); also where the page did not come over an encrypted line. */
export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

/**
 * The name of this tab, the same after a reload. A copied tab has the same memory and gets a name of its own.
 * @returns {Promise<string>}
 */
export async function client() {
  const known = recall(tab, "client");
  const name = known && (await isFree(known)) ? known : uuid();
  remember(tab, "client", name);
  hold(name);
  return name;
}

const lockOf = (name) => `${START}tab.${name}`;

async function isFree(name) {
  if (!navigator.locks) {
    return true;
  }
  return navigator.locks.request(lockOf(name), { ifAvailable: true }, (lock) => lock !== null);
}

/** Hold the tab's name as long as the tab lives. */
function hold(name) {
  navigator.locks?.request(lockOf(name), () => new Promise(() => undefined)).catch(() => undefined);
}
