/** What happens at the bench, told by the server as it happens; after a broken line it goes on where it stopped. */

const AGAIN_MS = 3000; // before a stream that the server closed is asked for anew (own choice)
const ASLEEP_MS = 20000; // a page hidden so long may have a dead line and asks anew when it is seen (own choice)

/**
 * @typedef {object} Ears
 * @property {() => number} reached revision up to which everything is known
 * @property {(change: import("./records.js").Change) => void} change
 * @property {(held: Object<string, {client: string, by: string}>) => void} claims
 * @property {(down: boolean) => void} line
 */

/**
 * Listen to a test.
 * @param {number} test
 * @param {Ears} ears
 * @returns {() => void} opens the stream anew
 */
export function listen(test, ears) {
  /** @type {?EventSource} */
  let source = null;
  let timer = 0;
  let hiddenSince = 0;

  function open() {
    clearTimeout(timer);
    source?.close();
    source = new EventSource(`/api/tests/${test}/live?after=${ears.reached()}`);
    source.addEventListener("open", () => ears.line(false));
    source.addEventListener("change", ({ data }) => ears.change(JSON.parse(data)));
    source.addEventListener("claims", ({ data }) => ears.claims(JSON.parse(data).held));
    source.addEventListener("error", () => {
      ears.line(true);
      if (source?.readyState === EventSource.CLOSED) {
        clearTimeout(timer);
        timer = setTimeout(open, AGAIN_MS);
      }
    });
  }

  document.addEventListener("visibilitychange", () => {
    if (document.hidden) {
      hiddenSince = Date.now();
    } else if (Date.now() - hiddenSince > ASLEEP_MS) {
      open();
    }
  });
  addEventListener("online", open);
  addEventListener("pageshow", ({ persisted }) => persisted && open());
  open();
  return open;
}
