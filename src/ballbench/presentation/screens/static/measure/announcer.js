/** Says what happened: in the live regions, by voice, by tone. Each of the two can be switched off. */

import { write } from "./drawing.js";
import { readingShort } from "./last_readings.js";
import { readingAloud, speak } from "./speech.js";
import { toneAsked, toneKept } from "./tones.js";
import { pieceShort } from "./words.js";

export class Announcer {
  /**
   * @param {(name: string) => HTMLElement} part
   * @param {(name: "voice"|"tones") => boolean} isOn
   */
  constructor(part, isOn) {
    this.part = part;
    this.isOn = isOn;
  }

  /** Say something in passing. */
  tell(words, aloud = words) {
    write(this.part("aloud"), words);
    this.#speak(aloud);
  }

  /** Say something that needs an answer. */
  ask(words, aloud = words) {
    write(this.part("alert"), words);
    if (this.isOn("tones")) {
      toneAsked();
    }
    this.#speak(aloud);
  }

  /** What was asked is answered: it is not told any longer, and the same question is told anew. */
  answered() {
    write(this.part("alert"), "");
  }

  /**
   * A reading was kept.
   * @param {import("./view.js").View} view
   * @param {import("./records.js").Reading} reading
   * @param {string} next where to measure next
   */
  kept(view, reading, next) {
    write(this.part("alert"), "");
    write(this.part("aloud"), [`kept ${readingShort(view, reading)}.`, next].filter(Boolean).join(" "));
    if (this.isOn("tones")) {
      toneKept();
    }
    this.#speak(this.aloud(view, reading));
  }

  /** A reading was taken back. */
  back(view, reading) {
    this.tell(`taken back: ${readingShort(view, reading)}`, `taken back: ${this.aloud(view, reading)}`);
  }

  /** A reading as it is said: its number only where it is not hidden. */
  aloud(view, reading) {
    const what = reading.axis || (view.quantities.size > 1 ? (view.quantities.get(reading.quantity)?.words ?? "") : "");
    const hidden = view.hidden && reading.ball !== null;
    return readingAloud(pieceShort(view, reading), what, hidden ? "" : reading.text);
  }

  #speak(words) {
    if (this.isOn("voice") && words) {
      speak(words);
    }
  }
}
