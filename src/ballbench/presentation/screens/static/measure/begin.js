/** Before measuring: who measures, and a sitting with its temperatures. */

import { mark, write } from "./drawing.js";
import { plainNumber } from "./gate.js";

/**
 * A temperature field: a number, null where it is empty; undefined where it is no number.
 * @param {HTMLInputElement} field
 */
export function numberIn(field) {
  if (field.value.trim() === "") {
    return null;
  }
  return plainNumber(field.value) ?? undefined;
}

export class BeginCard {
  /**
   * @param {(name: string) => HTMLElement} part an element of the page by its id
   * @param {(by: string, sitting: ?{kind: string, air_c?: number, ball_c?: number}) => void} go
   */
  constructor(part, go) {
    this.part = part;
    this.go = go;
    part("begin-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#submit();
    });
  }

  /**
   * Show or hide the card.
   * @param {"sitting"|"person"|null} asks what is missing; null: nothing
   * @param {string} by who measured here last
   * @param {string} words
   */
  show(asks, by, words) {
    const card = this.part("begin");
    const opened = card.hidden && asks !== null;
    card.hidden = asks === null;
    this.asks = asks;
    if (asks === null) {
      return;
    }
    write(this.part("begin-head"), asks === "sitting" ? "Begin a sitting" : "Who is measuring?");
    write(this.part("begin-words"), words);
    write(this.part("begin-go"), asks === "sitting" ? "Begin" : "Go on");
    this.part("begin-sitting").hidden = asks !== "sitting";
    if (opened) {
      const field = this.part("by");
      field.value = by || field.value;
      (field.value ? this.part("begin-go") : field).focus({ preventScroll: true });
    }
  }

  #submit() {
    const by = this.part("by").value.trim();
    const [air, balls] = ["begin-air", "begin-balls"].map((id) => numberIn(this.part(id)));
    const fault = this.#fault(by, air, balls);
    const line = this.part("begin-fault");
    line.hidden = !fault;
    write(line, fault);
    if (fault) {
      return;
    }
    const kind = this.part("begin-form").elements.namedItem("kind").value;
    const felt = { ...(air === null ? {} : { air_c: air }), ...(balls === null ? {} : { ball_c: balls }) };
    this.go(by, this.asks === "sitting" ? { kind, ...felt } : null);
    ["begin-air", "begin-balls"].forEach((id) => (this.part(id).value = ""));
  }

  #fault(by, air, balls) {
    mark(this.part("by"), "aria-invalid", by ? null : "true");
    mark(this.part("begin-air"), "aria-invalid", air === undefined ? "true" : null);
    mark(this.part("begin-balls"), "aria-invalid", balls === undefined ? "true" : null);
    if (!by) {
      return "Write who is measuring: it stands beside every reading.";
    }
    const whole = air !== undefined && balls !== undefined;
    return whole || this.asks !== "sitting" ? "" : "Write a temperature as a number, such as 21.5, or leave it empty.";
  }
}
