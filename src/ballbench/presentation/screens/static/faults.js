/** Faults beside the fields that they name, and all of them in a summary that takes the focus. */

let count = 0;

/** One fault as a sentence; the same words as on a page of faults. */
function sentence(fault) {
  const stop = /[.!?]$/.test(fault.todo) ? "" : ".";
  return `found ${fault.found}. Allowed: ${fault.allowed}. What to do: ${fault.todo}${stop}`;
}

/** Find the field that a fault names: `fields` maps places such as "makes 1, box 2, balls" to elements. */
function fieldOf(fault, fields) {
  const named = [...fields.keys()].filter((where) => fault.where === where || fault.where.startsWith(`${where},`));
  named.sort((one, other) => other.length - one.length);
  return named.length ? fields.get(named[0]) : null;
}

/** The fields of a form by their data-where. */
export function fieldsOf(form) {
  return new Map(Array.from(form.querySelectorAll("[data-where]"), (field) => [field.dataset.where, field]));
}

/** What a field is called on the page: its group, and its label. */
function nameOf(field) {
  const label = field.labels?.[0];
  const words = label?.querySelector(".label, span:not(.hint)")?.firstChild?.textContent ?? label?.textContent;
  const group = field.closest("fieldset")?.querySelector(":scope > legend")?.textContent;
  return [group, field.type === "radio" ? "" : words].filter(Boolean).map((part) => part.trim()).join(": ");
}

export function clearFaults(form, summary) {
  summary.hidden = true;
  summary.replaceChildren();
  for (const said of form.querySelectorAll("p.fault[data-for]")) {
    const field = document.getElementById(said.dataset.for);
    if (field) unmark(field);
    said.remove();
  }
}

/** Take the mark of a fault from a field; a hint that describes it stays. */
function unmark(field) {
  field.removeAttribute("aria-invalid");
  const hints = (field.getAttribute("aria-describedby") ?? "").split(" ").filter((id) => id && !id.startsWith("fault-"));
  if (hints.length) field.setAttribute("aria-describedby", hints.join(" "));
  else field.removeAttribute("aria-describedby");
}

/** A field that is edited is no longer what its fault says: the fault goes, beside it and in the summary. */
function forget(field, summary) {
  for (const said of document.querySelectorAll(`p.fault[data-for="${CSS.escape(field.id)}"]`)) said.remove();
  unmark(field);
  for (const link of summary.querySelectorAll("li a")) {
    if (link.getAttribute("href") === `#${field.id}`) link.closest("li").remove();
  }
  const left = summary.querySelectorAll("li").length;
  summary.hidden = left === 0;
  if (left) summary.querySelector("h2").textContent = heading(left);
}

function heading(count) {
  return count === 1 ? "This cannot be used yet" : `${count} things cannot be used yet`;
}

/** Watch the form of a summary for edits, once. */
const watched = new WeakSet();
function watchEdits(form, summary) {
  if (watched.has(form)) return;
  watched.add(form);
  for (const kind of ["input", "change"]) {
    form.addEventListener(kind, (event) => {
      if (event.target.getAttribute("aria-invalid") === "true") forget(event.target, summary);
    });
  }
}

function sayBeside(field, fault) {
  field.id ||= `field-${++count}`;
  for (let fold = field.closest("details"); fold; fold = fold.parentElement.closest("details")) fold.open = true;
  const said = document.createElement("p");
  said.className = "fault";
  said.id = `fault-${++count}`;
  said.dataset.for = field.id;
  said.textContent = sentence(fault).replace(/^f/, "F");
  field.setAttribute("aria-invalid", "true");
  const described = field.getAttribute("aria-describedby");
  field.setAttribute("aria-describedby", described ? `${described} ${said.id}` : said.id);
  (field.closest("label") || field).insertAdjacentElement("afterend", said);
}

/** Faults with their fields, in the order of the page; those without a field come last. */
function inOrder(faults, fields) {
  const pairs = faults.map((fault) => [fault, fieldOf(fault, fields)]);
  const named = pairs.filter(([, field]) => field);
  named.sort(([, one], [, other]) => (one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING ? -1 : 1));
  return [...named, ...pairs.filter(([, field]) => !field)];
}

/** Show faults in a form; the summary takes the focus. */
export function showFaults(form, summary, faults, fields = fieldsOf(form)) {
  clearFaults(form, summary);
  watchEdits(form, summary);
  const title = document.createElement("h2");
  title.textContent = heading(faults.length);
  const list = document.createElement("ul");
  for (const [fault, field] of inOrder(faults, fields)) {
    const item = document.createElement("li");
    if (field) {
      sayBeside(field, fault);
      const link = document.createElement("a");
      link.href = `#${field.id}`;
      link.textContent = nameOf(field) || fault.where;
      link.addEventListener("click", (event) => {
        event.preventDefault();
        field.focus();
      });
      item.append(link, `: ${sentence(fault)}`);
    } else {
      item.textContent = `${fault.where}: ${sentence(fault)}`;
    }
    list.append(item);
  }
  summary.append(title, list);
  summary.hidden = false;
  summary.focus();
}
