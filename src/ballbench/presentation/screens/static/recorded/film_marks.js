/** Marks of a film: for each picture nothing, that it is left out, or where a person put the ball. Nothing here touches
 * the page. */

/** Places are kept to a hundredth of a pixel, times to a microsecond: as a file of marks has them. */
const PLACE = 100;
const TIME = 1e6;

export function placed(x, y, u = null) {
  return { out: false, x: Math.round(x * PLACE) / PLACE, y: Math.round(y * PLACE) / PLACE, u };
}

export const LEFT_OUT = { out: true };

/** The marks that a view holds, by the number of the picture. */
export function marksOf(pictures) {
  const found = new Map();
  for (const [k, one] of pictures.entries()) {
    if (one.look === "left out") found.set(k, LEFT_OUT);
    if (one.look === "by hand") found.set(k, placed(one.x, one.y, one.u));
  }
  return found;
}

/** The picture that is nearest to a moment. */
export function nearestInTime(pictures, time) {
  let best = 0;
  for (const [k, one] of pictures.entries()) {
    if (Math.abs(one.time - time) < Math.abs(pictures[best].time - time)) best = k;
  }
  return best;
}

/** Marks of pictures that are numbered otherwise now. */
export function carried(marks, before, now) {
  return new Map([...marks].map(([k, mark]) => [nearestInTime(now, before[k].time), mark]));
}

/** Pictures as the server has them; of those that are left out, where the ball was found before they were. */
export function withFound(pictures, before) {
  return pictures.map((one) => {
    if (one.look !== "left out") return one;
    const had = before.find((other) => other.time === one.time);
    return had?.off == null ? one : { ...one, x: had.x, y: had.y, height: had.height, off: had.off };
  });
}

/** Marks as they are sent: a list a picture; null where there are none. */
export function sentOf(marks, pictures) {
  if (!marks.size) return null;
  return [...marks].sort(([one], [other]) => one - other).map(([k, mark]) => {
    const time = Math.round(pictures[k].time * TIME) / TIME;
    if (mark.out) return [time];
    return mark.u === null ? [time, mark.x, mark.y] : [time, mark.x, mark.y, mark.u];
  });
}

/** The next picture in doubt after one, else the first; -1: none is. */
export function nextInDoubt(pictures, marks, from) {
  const doubtful = pictures.map((one, k) => (one.doubt && !marks.get(k)?.out ? k : -1)).filter((k) => k >= 0);
  return doubtful.find((k) => k > from) ?? doubtful[0] ?? -1;
}

/** How far each key goes through the pictures; null: it does not. */
export function stepTo(event, at, many) {
  const ways = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10 };
  if (event.key === "Home") return 0;
  if (event.key === "End") return many - 1;
  if (!(event.key in ways)) return null;
  return Math.min(Math.max(at + ways[event.key], 0), many - 1);
}

/** By how many pixels each key moves a place, [across, down]; null: it does not. With shift ten times as far. */
export function moveOf(event) {
  const way = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  const far = event.shiftKey ? 5 : 0.5;
  return way ? way.map((part) => part * far) : null;
}
