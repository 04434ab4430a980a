/** Draws what is to be answered, and a failed instrument check. */

import { button, make } from "./drawing.js";
import { failedWords } from "./questions.js";
import { placeShort } from "./words.js";

export class Questions {
  #seen = new Set();

  /**
   * @param {(name: string) => HTMLElement} part
   * @param {import("./desk.js").Desk} desk
   * @param {import("./deeds.js").Deeds} deeds
   * @param {() => void} answered give the entry its focus again
   */
  constructor(part, desk, deeds, answered) {
    this.part = part;
    this.desk = desk;
    this.deeds = deeds;
    this.answered = answered;
  }

  show() {
    this.#ask();
    this.#alarm();
  }

  /** The question at the place in hand, and a way to every other. */
  #ask() {
    const { desk } = this;
    const now = desk.answer ?? desk.answers.find((one) => one.kind === "refused") ?? null;
    const others = desk.answers.filter((one) => one !== now);
    const box = this.part("ask");
    const text = JSON.stringify([now, others]);
    box.hidden = now === null && others.length === 0;
    if (box.dataset.shown === text) {
      return;
    }
    box.dataset.shown = text;
    box.replaceChildren(...(now ? this.#question(now) : []), ...this.#others(others));
  }

  #question(answer) {
    const away = answer.place !== null && answer.place !== this.desk.hand.place;
    const parts = [make("p", { class: "head" }, away ? `${this.#short(answer.place)}: ${answer.head}` : answer.head)];
    parts.push(make("p", {}, answer.more));
    if (answer.kind === "refused") {
      const acts = make("p", { class: "line wrap" });
      acts.append(this.#button("Leave it", () => this.deeds.clear(answer)));
      if (answer.again) {
        acts.append(this.#button("Send it again", () => this.deeds.sendAgain(answer.key)));
      }
      parts.push(acts);
    }
    return parts;
  }

  #others(others) {
    if (others.length === 0) {
      return [];
    }
    const line = make("p", { class: "line wrap" }, "To be looked at too:");
    others.forEach((one) => {
      const words = one.place === null ? one.head : this.#short(one.place);
      const look = () => (one.place === null ? this.deeds.clear(one) : this.desk.goToPlace(one.place));
      line.append(this.#button(words, look));
    });
    return [line];
  }

  #short(place) {
    const seen = this.desk.view.placeById.get(place);
    return seen ? placeShort(this.desk.view, seen) : "an entry";
  }

  #button(words, act) {
    return button(words, () => {
      act();
      this.answered();
    });
  }

  /** A failed check stands here until it was seen, or the same instrument passes one. */
  #alarm() {
    const { view } = this.desk;
    const last = new Map(view.bench.checks.map((check) => [check.instrument, check]));
    const failed = [...last.values()].filter((check) => !check.passed && !this.#seen.has(check.id));
    const box = this.part("alarm");
    box.hidden = failed.length === 0;
    const text = JSON.stringify(failed);
    if (box.dataset.shown === text) {
      return;
    }
    box.dataset.shown = text;
    box.replaceChildren(
      ...failed.flatMap((check) => [
        make("p", { class: "head" }, failedWords(view, check)),
        make("p", {}, `Look at jaws, zero and battery, then read the ${check.reference} again.`),
        this.#button("Seen", () => {
          this.#seen.add(check.id);
          this.#alarm();
        }),
      ]),
    );
  }
}
