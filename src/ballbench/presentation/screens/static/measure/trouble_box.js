/** Draws what the server could not keep, and the list of what was set aside. */

import { button, make } from "./drawing.js";
import { asideLines, failing, failingWords } from "./trouble.js";

export class Troubles {
  /** Entries that are taken off the list when it is said once more. @type {Set<string>} */
  #asked = new Set();

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
    this.#failing();
    this.#aside();
  }

  /** The first of those that are tried again, and how many more there are. */
  #failing() {
    const all = failing(this.desk.view);
    const [first] = all;
    const said = first ? { key: first.key, many: all.length - 1, ...failingWords(this.desk.view, first) } : null;
    if (!this.#changes("trouble", said)) {
      return;
    }
    const acts = make("p", { class: "line wrap" });
    acts.append(
      this.#button("Try it now", () => this.deeds.sendAgain(said.key)),
      this.#button("Set it aside", () => this.deeds.setAside(said.key)),
    );
    const many = said.many > 0 ? [make("p", {}, `${said.many} more could not be kept so far.`)] : [];
    this.part("trouble").replaceChildren(
      make("p", { class: "head" }, said.head),
      make("p", {}, said.more),
      ...many,
      acts,
    );
  }

  #aside() {
    const lines = asideLines(this.desk.view).map((line) => ({ ...line, asked: this.#asked.has(line.key) }));
    if (!this.#changes("set-aside", lines.length > 0 ? lines : null)) {
      return;
    }
    this.part("set-aside-list").replaceChildren(
      ...lines.map(({ key, words, asked }) => {
        const line = make("li", {}, `${words} `);
        line.append(
          this.#button("Send it again", () => this.deeds.sendAgain(key)),
          button(asked ? "Take it off the list for good" : "It is written down", () => this.#off(key, asked)),
        );
        return line;
      }),
    );
  }

  /** Off the list only when it is said twice: this browser has the only copy. */
  #off(key, asked) {
    if (asked) {
      this.#asked.delete(key);
      this.deeds.writtenDown(key);
      this.answered();
    } else {
      this.#asked.add(key);
      this.#aside();
    }
  }

  /** Hide or show a part; whether there is something new to be written into it. */
  #changes(name, said) {
    const box = this.part(name);
    const text = JSON.stringify(said);
    box.hidden = said === null;
    const changed = box.dataset.shown !== text;
    box.dataset.shown = text;
    return changed && said !== null;
  }

  #button(words, act) {
    return button(words, () => {
      act();
      this.answered();
    });
  }
}
