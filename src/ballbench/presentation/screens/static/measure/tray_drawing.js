/** Draws the tray: a button a ball. The arrow keys go from ball to ball, and the tray is one stop of the Tab key. */

import { make, mark, write } from "./drawing.js";
import { ballPicture, referencePicture } from "./tray_pictures.js";

/** Sizes by how many lie in the tray, so that 144 balls stay in sight (own choice). */
const sizeOf = (count) => (count <= 16 ? "large" : count <= 36 ? "middle" : count <= 80 ? "small" : "smallest");

export class TrayDrawing {
  #drawn = new Map();

  /**
   * @param {HTMLElement} list
   * @param {(piece: {ball: ?number, reference: ?number}) => void} taken a ball was tapped
   */
  constructor(list, taken) {
    this.list = list;
    this.taken = taken;
    this.detail = make("p", { class: "detail", "aria-hidden": "true", hidden: true });
    list.after(this.detail);
    list.addEventListener("pointerover", ({ target }) => this.#show(target));
    list.addEventListener("pointerleave", () => this.#show(null));
    list.addEventListener("focusin", ({ target }) => this.#show(target));
    list.addEventListener("focusout", () => this.#show(null));
    list.addEventListener("keydown", (event) => this.#step(event));
  }

  /** @param {import("./tray.js").TrayPiece[]} pieces */
  show(pieces) {
    mark(this.list, "data-size", sizeOf(pieces.length));
    for (const piece of pieces) {
      const text = JSON.stringify(piece);
      const known = this.#drawn.get(piece.id);
      if (known?.text !== text) {
        this.#drawn.set(piece.id, { text, button: this.#draw(piece, known?.button), piece });
      }
    }
    this.#stop();
    this.#keepInSight();
  }

  get #buttons() {
    return [...this.#drawn.values()].map((one) => one.button);
  }

  /** The Tab key stops at the ball in hand, or at the first. */
  #stop() {
    const buttons = this.#buttons;
    const stop = buttons.find((one) => one.dataset.current === "") ?? buttons[0];
    buttons.forEach((one) => mark(one, "tabindex", one === stop ? "0" : "-1"));
  }

  /** @param {KeyboardEvent} event */
  #step(event) {
    const buttons = this.#buttons;
    const here = buttons.indexOf(event.target.closest(".piece"));
    const steps = { ArrowLeft: here - 1, ArrowRight: here + 1, Home: 0, End: buttons.length - 1 };
    const next = buttons[steps[event.key] ?? this.#row(event.key, here)];
    if (here >= 0 && next) {
      event.preventDefault();
      next.focus();
    }
  }

  /** The ball nearest above or below; -1: another key. */
  #row(key, here) {
    const down = { ArrowUp: -1, ArrowDown: 1 }[key];
    if (!down || here < 0) {
      return -1;
    }
    const boxes = this.#buttons.map((one) => one.getBoundingClientRect());
    const away = boxes.map((box, i) => {
      const rows = (box.top - boxes[here].top) * down;
      const aside = Math.abs(box.left - boxes[here].left);
      return i === here || rows < boxes[here].height / 2 ? Infinity : 1000 * rows + aside;
    });
    const nearest = Math.min(...away);
    return nearest === Infinity ? -1 : away.indexOf(nearest);
  }

  #draw(piece, known) {
    const button = known ?? this.#place(piece);
    mark(button, "aria-label", piece.words);
    mark(button, "aria-current", piece.current ? "true" : null);
    mark(button, "data-state", piece.state);
    mark(button, "data-current", piece.current);
    mark(button, "data-waiting", piece.waiting);
    mark(button, "data-flag", piece.flag || null);
    mark(button, "data-holder", piece.holder || null);
    button.replaceChildren(piece.ball === null ? referencePicture(piece) : ballPicture(piece));
    return button;
  }

  #place(piece) {
    const of = piece.ball === null ? { "data-reference": piece.reference } : { "data-ball-number": piece.label };
    const button = make("button", { type: "button", class: "piece", ...of });
    button.addEventListener("click", () => this.taken(piece));
    this.list.append(make("li", {}, button));
    return button;
  }

  #show(target) {
    const button = target?.closest?.(".piece");
    const piece = [...this.#drawn.values()].find((one) => one.button === button)?.piece;
    this.detail.hidden = !piece;
    write(this.detail, piece?.detail ?? "");
  }

  /** A tray that is larger than its window shows the ball in hand. */
  #keepInSight() {
    const now = this.list.querySelector("[data-current]");
    if (now) {
      this.list.scrollTop = now.offsetTop + (now.offsetHeight - this.list.clientHeight) / 2;
      this.list.scrollLeft = now.offsetLeft + (now.offsetWidth - this.list.clientWidth) / 2;
    }
  }
}
