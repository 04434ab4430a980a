/** Narrow the list of requirements to those with every word that is typed. */

const field = document.getElementById("find-text");
const found = document.getElementById("found");

function narrow() {
  const words = field.value.toLowerCase().split(/\s+/).filter(Boolean);
  let shown = 0;
  for (const section of document.querySelectorAll("section.sport")) {
    let any = false;
    for (const line of section.querySelectorAll("li")) {
      line.hidden = !words.every((word) => line.dataset.find.includes(word));
      if (!line.hidden) {
        any = true;
        shown += 1;
      }
    }
    section.hidden = !any;
  }
  found.textContent = shown === 1 ? "1 requirement" : `${shown} requirements`;
}

field.addEventListener("input", narrow);
document.getElementById("find").addEventListener("submit", (event) => event.preventDefault());
narrow();
