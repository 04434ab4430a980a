/** What is said once before a form is sent, in a box that takes the focus. */

export function sayBeforeGo(box, head, text) {
  const title = document.createElement("h3");
  title.textContent = head;
  const words = document.createElement("p");
  words.textContent = text;
  box.replaceChildren(title, words);
  box.hidden = false;
  box.focus();
}
