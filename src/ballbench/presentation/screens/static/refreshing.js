/** Parts of a page, written anew by ballbench, put in the place of the old ones; the reader stays where they are. */

/** Fetch this page again and exchange the elements of these ids. Gives false where that failed. */
export async function refresh(ids) {
  let text;
  try {
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    if (!answer.ok) return false;
    text = await answer.text();
  } catch {
    return false;
  }
  const fresh = new DOMParser().parseFromString(text, "text/html");
  const open = new Set(Array.from(document.querySelectorAll("details[open] > summary"), whatIs));
  const top = window.scrollY;
  for (const id of ids) {
    const old = document.getElementById(id);
    const made = fresh.getElementById(id);
    if (old && made) old.replaceWith(document.adoptNode(made));
  }
  for (const summary of document.querySelectorAll("details > summary")) {
    if (open.has(whatIs(summary))) summary.parentElement.open = true;
  }
  window.scrollTo(0, top);
  return true;
}

/** What a fold is, so that an open one stays open: the heading before it and its own words. */
function whatIs(summary) {
  const block = summary.closest("article, section, figure");
  const heading = block?.querySelector("h2, h3, figcaption");
  return `${heading?.textContent ?? ""} / ${summary.textContent}`;
}
