/** Picks of a sound: for each drop the moments of its impacts, s. Nothing here touches the page. */

/** Impacts of one drop are never nearer to each other: no ball comes back sooner (own choice). */
const NEAREST_S = 0.002;
const FINE_S = 0.0001;
const COARSE_S = 0.001;
const LEAP_S = 0.01;

/** How far each key moves a pick, s; with shift ten times as far. */
export function stepOf(event) {
  const way = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 1, PageDown: -1 }[event.key];
  if (!way) return 0;
  if (event.key.startsWith("Page")) return way * LEAP_S;
  return way * (event.shiftKey ? COARSE_S : FINE_S);
}

function copied(picks) {
  return picks.map((drop) => [...drop]);
}

/** Between which moments a pick can be moved. */
export function room(picks, at, seconds) {
  const drop = picks[at.drop];
  const low = at.impact > 0 ? drop[at.impact - 1] + NEAREST_S : 0;
  const high = at.impact < drop.length - 1 ? drop[at.impact + 1] - NEAREST_S : seconds;
  return [low, high];
}

/** Put a pick at a moment, as near to it as its neighbours allow; whole microseconds. */
export function moved(picks, at, time, seconds) {
  const [low, high] = room(picks, at, seconds);
  const made = copied(picks);
  made[at.drop][at.impact] = Math.round(Math.min(Math.max(time, low), high) * 1e6) / 1e6;
  return made;
}

export function removed(picks, at) {
  const made = copied(picks);
  made[at.drop].splice(at.impact, 1);
  return made.filter((drop) => drop.length);
}

/** Where another pick may be: at a moment of choice, else between this one and the next, else after the last. */
function fresh(drop, impact, seconds, wish) {
  if (wish !== null && drop.every((time) => Math.abs(time - wish) >= NEAREST_S)) return wish;
  if (impact < drop.length - 1) return (drop[impact] + drop[impact + 1]) / 2;
  const last = drop[drop.length - 1];
  const flight = drop.length > 1 ? last - drop[drop.length - 2] : 0.2;
  return Math.min(last + 0.9 * flight, (last + seconds) / 2);
}

/** Add a pick to a drop; gives the picks and where the new one stands. */
export function added(picks, at, seconds, wish = null) {
  if (!picks.length) return { picks: [[wish ?? seconds / 3]], at: { drop: 0, impact: 0 } };
  const made = copied(picks);
  const time = Math.round(fresh(made[at.drop], at.impact, seconds, wish) * 1e6) / 1e6;
  made[at.drop].push(time);
  made[at.drop].sort((one, other) => one - other);
  return { picks: made, at: { drop: at.drop, impact: made[at.drop].indexOf(time) } };
}

/** Begin another drop, at a moment of choice or after all others. */
export function begun(picks, seconds, wish = null) {
  const last = Math.max(0, ...picks.flat());
  const time = Math.round((wish ?? (last + seconds) / 2) * 1e6) / 1e6;
  const made = [...copied(picks), [time]].sort((one, other) => one[0] - other[0]);
  return { picks: made, at: { drop: made.findIndex((drop) => drop[0] === time && drop.length === 1), impact: 0 } };
}
