/** What was typed into a form, kept in this tab: a page that is loaded again has it still, until it is done with. */

/** Fields that can be kept: with an id, no file, and not of rows that are kept in their own way. */
function ofForm(form) {
  return [...form.querySelectorAll("input[id], select[id], textarea[id]")].filter(
    (field) => field.type !== "file" && !field.closest("#rows"),
  );
}

function kept(name) {
  try {
    return JSON.parse(sessionStorage.getItem(`ballbench.${name}`)) ?? {};
  } catch {
    return {}; // A browser that keeps nothing, or something that is none of ours.
  }
}

/** Keep the fields that somebody changed, and what else is given. */
export function keepDraft(name, form, more = {}) {
  const typed = { ...kept(name).typed };
  for (const field of ofForm(form)) if (field.dataset.typed) typed[field.id] = field.value;
  try {
    sessionStorage.setItem(`ballbench.${name}`, JSON.stringify({ typed, ...more }));
  } catch {
    // A browser that keeps nothing: what stands on the page is all there is.
  }
}

/** Put kept fields back, those of a choice that is still offered; gives all that was kept, `any` where a field was. */
export function takeUpDraft(name, form) {
  const had = kept(name);
  let any = false;
  for (const field of ofForm(form)) {
    const text = had.typed?.[field.id];
    if (text === undefined) continue;
    if (field.options && ![...field.options].some((option) => option.value === text && !option.disabled)) continue;
    field.value = text;
    field.dataset.typed = "yes";
    any = true;
  }
  return { ...had, any };
}

/** From now on remember which fields somebody changes; `onChange` is told after each change. */
export function watchDraft(form, onChange) {
  for (const kind of ["input", "change"]) {
    form.addEventListener(kind, (event) => {
      if (event.target.id && event.target.type !== "file") event.target.dataset.typed = "yes";
      onChange();
    });
  }
}

export function dropDraft(name) {
  try {
    sessionStorage.removeItem(`ballbench.${name}`);
  } catch {
    // Nothing was kept.
  }
}

/** A button that empties the form and what was kept of it, pressed twice: what it would lose stands beside it first. */
export function offerToClear(button, said, { loses, clear }) {
  const words = button.textContent;
  let asked = false;
  button.addEventListener("click", () => {
    const what = loses();
    if (what && !asked) {
      asked = true;
      button.textContent = "Clear it all the same";
      said.textContent = what;
      return;
    }
    asked = false;
    button.textContent = words;
    clear();
    said.textContent = "Everything is cleared.";
  });
  button.addEventListener("blur", () => {
    asked = false;
    button.textContent = words;
  });
}
