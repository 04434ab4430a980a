/** The one field that is typed into, by people and by instruments that act as keyboards. */

import { meaningOf, meaningOfKey } from "./entry.js";

const LABEL = /^ball (.+)$/i; // what the code on a ball's label says

const SETTLE_MS = 60; // an instrument sends its next character sooner, a person never (own choice)

/**
 * @typedef {object} Acts
 * @property {(text: string) => void} keep
 * @property {(number: string) => void} scanned a ball's label was read by a scanner
 * @property {() => void} takeBack
 * @property {() => void} later
 * @property {() => void} zeroed
 * @property {(reason: number) => void} spoiled
 * @property {() => void} leave
 * @property {() => void} typed something was typed or cleared
 * @property {(choosing: boolean) => void} choosing
 */

export class EntryField {
  #choosing = false;
  #picked = 0;

  /**
   * @param {HTMLInputElement} input
   * @param {Acts} acts
   * @param {() => {signed: boolean, reasons: number}} stand
   */
  constructor(input, acts, stand) {
    this.input = input;
    this.acts = acts;
    this.stand = stand;
    input.addEventListener("keydown", (event) => this.#key(event));
    input.addEventListener("input", (event) => this.#input(event));
    input.form?.addEventListener("submit", (event) => {
      event.preventDefault();
      this.#enter();
    });
  }

  get empty() {
    return this.input.value === "";
  }

  get choosing() {
    return this.#choosing;
  }

  clear() {
    this.input.value = "";
    this.choose(false);
  }

  /** Open or close the choice of reasons. @param {boolean} choosing */
  choose(choosing) {
    clearTimeout(this.#picked);
    if (choosing !== this.#choosing) {
      this.#choosing = choosing;
      this.acts.choosing(choosing);
    }
  }

  #key(event) {
    if (event.isComposing || event.ctrlKey || event.altKey || event.metaKey) {
      return;
    }
    const meaning = meaningOfKey(event.key, event.shiftKey, this.empty);
    if (meaning === "none") {
      return;
    }
    event.preventDefault();
    if (meaning === "keep" || meaning === "nothing") {
      this.#enter();
    } else if (meaning === "leave") {
      this.#leave();
    } else if (!event.repeat) {
      this.#takeBack();
    }
  }

  #takeBack() {
    if (this.#choosing) {
      this.choose(false);
    } else {
      this.acts.takeBack();
    }
  }

  #input(event) {
    if (event.isComposing) {
      return;
    }
    const typed = this.input.value;
    clearTimeout(this.#picked);
    const meaning = meaningOf(typed, { choosing: this.#choosing, ...this.stand() });
    if (meaning.act === "pick") {
      this.#picked = setTimeout(() => this.#pick(meaning.reason), SETTLE_MS);
      return;
    }
    if (meaning.text !== typed) {
      this.input.value = meaning.text;
    }
    this.choose(meaning.act === "choose");
    if (meaning.act === "later" || meaning.act === "zeroed") {
      this.acts[meaning.act]();
    }
    this.acts.typed();
  }

  #pick(reason) {
    this.clear();
    this.acts.spoiled(reason);
  }

  #enter() {
    const text = this.input.value;
    if (this.#choosing) {
      const { act, reason } = meaningOf(text, { choosing: true, ...this.stand() });
      this.clear();
      if (act === "pick") {
        this.acts.spoiled(reason);
      }
    } else if (text.trim() !== "") {
      this.clear();
      const label = LABEL.exec(text.trim());
      if (label) {
        this.acts.scanned(label[1].trim());
      } else {
        this.acts.keep(text);
      }
    }
  }

  #leave() {
    const wasAsked = !this.#choosing && this.empty;
    this.clear();
    this.acts.typed();
    if (wasAsked) {
      this.acts.leave();
    }
  }
}

const TYPED_INTO = "input:not([type=checkbox], [type=radio]), textarea, select, [contenteditable]";
const CONTROLS = "a, button, input, select, textarea, label, summary, dialog, table, [contenteditable]";

/**
 * Bring what is typed anywhere to the entry, unless it is meant for another control.
 * @param {HTMLInputElement} input
 * @param {(heard: boolean) => void} listening whether what an instrument types comes here just now
 */
export function keepFocus(input, listening) {
  const free = () => input.offsetParent !== null && !document.querySelector("dialog[open]");
  document.addEventListener("keydown", (event) => {
    const { activeElement } = document;
    if (!free() || activeElement?.matches(TYPED_INTO)) {
      return;
    }
    const types = event.key.length === 1 && event.key !== " " && !event.ctrlKey && !event.altKey && !event.metaKey;
    const onControl = activeElement?.matches(CONTROLS) ?? false;
    if (types || (!onControl && (event.key === "Backspace" || event.key === "Enter"))) {
      input.focus({ preventScroll: true });
    }
  });
  document.addEventListener("click", ({ target }) => {
    if (!target.closest(CONTROLS) && free() && String(getSelection() ?? "") === "") {
      input.focus({ preventScroll: true });
    }
  });
  const tell = () => {
    const { activeElement } = document;
    listening(document.hasFocus() && (activeElement === input || !activeElement?.matches(TYPED_INTO)));
  };
  ["focusin", "focusout"].forEach((name) => document.addEventListener(name, () => queueMicrotask(tell)));
  ["focus", "blur"].forEach((name) => addEventListener(name, tell));
}
