/** Which ball is in the hand, told from its mass. */

import { button, make, write } from "./drawing.js";
import { fetchOne } from "./wire.js";

/**
 * Answer the form that asks for a mass.
 * @param {number} test
 * @param {(name: string) => HTMLElement} part
 * @param {() => boolean} hidden whether numbers of the balls are hidden
 * @param {(ball: number) => void} goTo
 */
export function askWhichBall(test, part, hidden, goTo) {
  part("which-form").addEventListener("submit", async (event) => {
    event.preventDefault();
    const text = part("which-text").value.trim();
    if (!text) {
      return;
    }
    const found = await fetchOne(`/api/tests/${test}/which-ball?text=${encodeURIComponent(text)}`);
    const answer = part("which-answer");
    if (found.kind === "reply") {
      answer.replaceChildren(...candidateLines(found.reply, hidden(), goTo));
    } else {
      const fault = found.faults?.[0];
      const why = found.kind === "failed" ? `The server could not tell: ${found.title}.` : "No connection: ask again later.";
      write(answer, fault ? `Found ${fault.found}: ${fault.todo}.` : why);
    }
  });
}

/** Balls that it may be, the likeliest first; their masses stay hidden in a blind test. */
function candidateLines({ candidates, sentence }, hidden, goTo) {
  const shown = candidates.map(({ ball, number, chance, mass }) => {
    const weighed = hidden || mass === null ? "" : `${Number(mass.toFixed(3))}\u00a0g`;
    const words = [`Ball ${number}`, `${Math.round(100 * chance)}\u00a0%`, weighed];
    return button(words.filter(Boolean).join(" · "), () => goTo(ball));
  });
  const next = shown.length > 0 ? "Tap a ball to go on with it." : "";
  return [make("p", {}, sentence), make("p", { class: "line wrap" }, ...shown), make("p", { class: "hint" }, next)];
}
