/** What is folded away says, folded or not, which of its fields are stated. */

function wordsOf(field) {
  return (field.labels?.[0]?.textContent ?? field.dataset.stated).trim();
}

/** Say of each fold what stands in it. */
export function sayStated(form) {
  for (const fold of form.querySelectorAll("details.detail")) {
    const own = [...fold.querySelectorAll("[data-stated]")].filter((field) => field.value.trim());
    const words = own.map((field) => wordsOf(field).replace(/^./, (first) => first.toLowerCase()));
    fold.querySelector("[data-stated-here]").textContent = words.length ? `Stated: ${words.join("; ")}.` : "";
  }
}

/** From now on say it after each change. */
export function followStated(form) {
  for (const kind of ["input", "change"]) form.addEventListener(kind, () => sayStated(form));
  sayStated(form);
}
