/** The four acts instead of a reading, as buttons; and the reasons for a spoiled attempt. */

import { button, make, mark, write } from "./drawing.js";

export class Signs {
  #reasons = "";

  /**
   * @param {(name: string) => HTMLElement} part
   * @param {import("./entry_field.js").EntryField} field
   * @param {import("./entry_field.js").Acts} acts
   */
  constructor(part, field, acts) {
    this.part = part;
    this.field = field;
    this.acts = acts;
    this.#on("take-back", (typed) => !typed && acts.takeBack());
    this.#on("later", () => acts.later());
    this.#on("zeroed", () => acts.zeroed());
    this.#on("spoiled", () => field.choose(!field.choosing));
    this.#on("answer-yes", () => acts.keep("yes"));
    this.#on("answer-no", () => acts.keep("no"));
  }

  /** A tap clears what is typed, acts, and gives the entry its focus again; taking back first takes what is typed. */
  #on(id, act) {
    this.part(id).addEventListener("click", () => {
      const typed = !this.field.empty;
      if (id !== "spoiled" || typed) {
        this.field.clear();
      }
      act(typed);
      this.part("entry").focus({ preventScroll: true });
    });
  }

  /**
   * @param {string[]} reasons
   * @param {?import("./records.js").PlannedQuantity} quantity
   */
  show(reasons, quantity) {
    write(this.part("spoiled-key"), quantity?.signed ? "--" : "-");
    this.part("yes-no").hidden = !quantity?.yes_no;
    if (JSON.stringify(reasons) === this.#reasons) {
      return;
    }
    this.#reasons = JSON.stringify(reasons);
    this.part("reason-list").replaceChildren(
      ...reasons.map((reason, i) => {
        const one = button(reason, () => {
          this.field.clear();
          this.acts.spoiled(i);
          this.part("entry").focus({ preventScroll: true });
        });
        if (i < 9) {
          one.prepend(make("kbd", { "aria-hidden": "true" }, String(i + 1)));
        }
        return one;
      }),
    );
  }

  /** Open or close the choice. */
  choosing(open) {
    this.part("reasons").hidden = !open;
    mark(this.part("hand"), "data-choosing", open);
    mark(this.part("spoiled"), "aria-expanded", String(open));
  }
}
