/** The folded panel below: what is noted of the room and the balls, once more, which ball, this device. */

import { numberIn } from "./begin.js";
import { since } from "./clocks.js";
import { isOn, setOn } from "./device.js";
import { make, mark, write } from "./drawing.js";
import { askWhichBall } from "./which_ball.js";
import { axisWords } from "./words.js";

/**
 * @typedef {object} PanelActs
 * @property {(kind: string, more: {value?: number, ball?: number}) => void} note
 * @property {(body: {ball: number, quantity: string, axis: string, reason: string}) => void} again
 * @property {(ball: number) => void} goTo a ball of the test
 * @property {(name: string) => void} rename
 * @property {(paper: boolean) => void} paper
 * @property {() => void} checkNow
 * @property {() => void} endSitting
 * @property {(name: string, on: boolean) => void} switched
 */

const USUAL = { voice: false, tones: true, running: true };

/** Whether something that this device can do is switched on. @param {"voice"|"tones"|"running"} name */
export const switchedOn = (name) => isOn(name, USUAL[name]);

export class Panel {
  #filled = "";

  /**
   * @param {number} test
   * @param {(name: string) => HTMLElement} part
   * @param {PanelActs} acts
   */
  constructor(test, part, acts) {
    this.test = test;
    this.part = part;
    this.acts = acts;
    this.#sitting();
    this.#air();
    this.#balls();
    this.#again();
    askWhichBall(test, part, () => this.view?.hidden ?? false, acts.goTo);
    this.#device();
  }

  /**
   * @param {import("./view.js").View} view
   * @param {string} by
   * @param {number} now ms
   */
  show(view, by, now) {
    this.view = view;
    this.#fill(view);
    if (document.activeElement !== this.part("name")) {
      this.part("name").value = by;
    }
    this.part("paper").checked = view.sitting?.kind === "paper";
    ["paper", "end-sitting", "check-now"].forEach((id) => mark(this.part(id), "disabled", view.sitting === null));
    this.part("check-now").parentElement.hidden = view.bench.references.size === 0;
    this.#noted(view.sitting);
    this.#timers(view, now);
  }

  /** What was noted last stands in its empty field. */
  #noted(sitting) {
    const [air, balls] = ["air temperature", "ball temperature"].map((kind) =>
      this.part("air-form").querySelector(`[data-kind="${kind}"]`),
    );
    air.placeholder = sitting?.air_c?.toFixed(1) ?? "";
    balls.placeholder = sitting?.ball_c?.toFixed(1) ?? "";
  }

  /** Say in the panel what came of it. */
  tell(words) {
    write(this.part("told"), words);
  }

  #fill(view) {
    const balls = [...view.bench.balls.values()];
    const wanted = JSON.stringify([balls.map((ball) => [ball.id, ball.number]), view.test.quantities]);
    if (wanted === this.#filled) {
      return;
    }
    this.#filled = wanted;
    const options = () => balls.map((ball) => make("option", { value: ball.id }, ball.number));
    this.part("balls-which").replaceChildren(make("option", { value: "" }, "all balls"), ...options());
    this.part("again-ball").replaceChildren(...options());
    const places = view.test.quantities.flatMap((quantity) => quantity.axes.map((axis) => ({ quantity, axis })));
    this.part("again-where").replaceChildren(
      ...places.map(({ quantity, axis }) => {
        const words = [quantity.words, axisWords(axis)].filter(Boolean).join(" ");
        return make("option", { value: JSON.stringify([quantity.name, axis]) }, words);
      }),
    );
  }

  #on(id, event, act) {
    this.part(id).addEventListener(event, (told) => {
      told.preventDefault();
      act(told);
    });
  }

  #sitting() {
    this.#on("name-form", "submit", () => this.acts.rename(this.part("name").value.trim()));
    this.part("paper").addEventListener("change", ({ target }) => this.acts.paper(target.checked));
    this.#on("check-now", "click", () => this.acts.checkNow());
    this.#on("end-sitting", "click", () => this.acts.endSitting());
  }

  #air() {
    this.#on("air-form", "submit", () => {
      const fields = [...this.part("air-form").querySelectorAll("[data-kind]")];
      const wrong = fields.filter((field) => this.#note(field, {}) === undefined);
      if (wrong.length > 0) {
        this.tell("Write a number, such as 21.5.");
        wrong[0].focus();
      }
    });
  }

  /** Note what stands in a field; undefined: it is no number. */
  #note(field, more) {
    const value = numberIn(field);
    mark(field, "aria-invalid", value === undefined ? "true" : null);
    if (typeof value === "number") {
      this.acts.note(field.dataset.kind, { value, ...more });
      field.value = "";
    }
    return value;
  }

  #ballChosen() {
    const chosen = this.part("balls-which").value;
    return chosen ? { ball: Number(chosen) } : {};
  }

  #balls() {
    const form = this.part("balls-form");
    this.#on("balls-form", "submit", ({ submitter }) => {
      const own = submitter?.parentElement.querySelector("[data-kind]");
      const fields = own ? [own] : [...form.querySelectorAll("[data-kind]")];
      const noted = fields.map((field) => this.#note(field, this.#ballChosen()));
      if (!noted.some((value) => typeof value === "number")) {
        this.tell("Write a number first.");
        fields[0].focus();
      }
    });
    form.querySelectorAll("[data-mark]").forEach((one) =>
      one.addEventListener("click", () => this.acts.note(one.dataset.mark, this.#ballChosen())),
    );
  }

  #again() {
    this.#on("again-form", "submit", () => {
      const reason = this.part("again-why").value.trim();
      mark(this.part("again-why"), "aria-invalid", reason ? null : "true");
      if (!reason) {
        this.tell("Write why it is to be read once more; the reason stays beside it.");
        this.part("again-why").focus();
        return;
      }
      const [quantity, axis] = JSON.parse(this.part("again-where").value);
      this.acts.again({ ball: Number(this.part("again-ball").value), quantity, axis, reason });
      this.part("again-why").value = "";
    });
  }

  #device() {
    this.part("panel")
      .querySelectorAll("[data-switch]")
      .forEach((box) => {
        const name = box.dataset.switch;
        box.checked = switchedOn(name);
        box.addEventListener("change", () => {
          setOn(name, box.checked);
          this.acts.switched(name, box.checked);
        });
      });
  }

  /** How long balls lie in the climate of the room: those that began together in one line. */
  #timers(view, now) {
    const groups = new Map();
    for (const ball of view.bench.balls.values()) {
      if (ball.conditioning_since) {
        groups.set(ball.conditioning_since, [...(groups.get(ball.conditioning_since) ?? []), ball.number]);
      }
    }
    const lines = [...groups].map(([begun, numbers]) => {
      const whose = numbers.length === view.bench.balls.size ? "all balls" : numbers.join(", ");
      return `${whose}: conditioning for ${since(begun, now)}`;
    });
    const list = this.part("timers");
    if (list.dataset.shown !== lines.join("\n")) {
      list.dataset.shown = lines.join("\n");
      list.replaceChildren(...lines.map((line) => make("li", {}, line)));
    }
  }
}
