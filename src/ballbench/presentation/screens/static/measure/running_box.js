/** The part of the page with the running picture and its table. */

import { stands } from "./bench.js";
import { make, write } from "./drawing.js";
import { allowedWords, runningOf } from "./running.js";
import { runningPicture, runningTable } from "./running_drawing.js";

export class RunningBox {
  #shown = "";
  #width = 0;

  /**
   * @param {(name: string) => HTMLElement} part
   * @param {() => boolean} isOn
   */
  constructor(part, isOn) {
    this.part = part;
    this.isOn = isOn;
    part("running-fold").addEventListener("toggle", () => this.#again());
    if ("ResizeObserver" in globalThis) {
      new ResizeObserver(() => this.#again()).observe(part("running-picture"));
    }
  }

  /**
   * @param {import("./view.js").View} view
   * @param {?import("./view.js").SeenPlace} place in hand
   */
  show(view, place) {
    this.view = view;
    this.place = place;
    const box = this.part("running");
    box.hidden = !this.isOn() && !view.hidden;
    this.part("running-fold").hidden = view.hidden;
    this.part("running-picture").hidden = view.hidden;
    if (view.hidden) {
      write(this.part("running-words"), view.test.blind ? "hidden: blind test" : "hidden: repeat study");
    } else if (!box.hidden) {
      this.#draw();
    }
  }

  #again() {
    if (this.view && !this.view.hidden && this.part("running-picture").clientWidth !== this.#width) {
      this.#shown = "";
    }
    if (this.view) {
      this.show(this.view, this.place);
    }
  }

  #draw() {
    const { view, place } = this;
    const quantity = view.quantities.get(place?.quantity ?? "") ?? view.test.quantities[0];
    const running = runningOf(view, quantity.name, place?.ball ?? null);
    const picture = this.part("running-picture");
    this.#width = picture.clientWidth;
    const open = this.part("running-fold").open;
    const text = JSON.stringify([running, this.#width, open, view.bench.reached, view.readings.length]);
    if (text === this.#shown || this.#width === 0) {
      return;
    }
    this.#shown = text;
    write(this.part("running-head"), running?.rows.length > 1 ? "These boxes so far" : "This box so far");
    write(this.part("running-words"), running ? `${running.words}: ${allowedWords(running)}` : quantity.words);
    picture.replaceChildren(running ? runningPicture(running, this.#width) : answers(view, quantity));
    this.part("running-table").replaceChildren(...(open ? [runningTable(view, quantity)] : []));
  }
}

/** A yes/no result is counted in words. */
function answers(view, quantity) {
  const given = view.readings.filter((one) => one.quantity === quantity.name && stands(one) && one.ball !== null);
  const yes = given.filter((one) => one.answer === true).length;
  return make("p", {}, given.length === 0 ? "nothing read yet" : `${yes} yes, ${given.length - yes} no`);
}
