/** Sounds as pictures: the lowest and the highest sample of each piece, drawn into an SVG. */

const NS = "http://www.w3.org/2000/svg";
const WIDE = 1000;
const HIGH = 100;

function part(name, attributes) {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  return made;
}

/** The outline of a piece of sound, from left to right along the top and back along the bottom. */
function outline(lows, highs, loudest) {
  const x = (i) => ((i + 0.5) / lows.length) * WIDE;
  const y = (value) => HIGH / 2 - (value / loudest) * (HIGH / 2 - 2);
  const thin = 0.4;
  const top = highs.map((value, i) => `${x(i).toFixed(1)},${(y(value) - thin).toFixed(2)}`);
  const bottom = lows.map((value, i) => `${x(i).toFixed(1)},${(y(value) + thin).toFixed(2)}`).reverse();
  return `M${[...top, ...bottom].join("L")}Z`;
}

/** Draw pieces of sound into an SVG element, as loud as they are. */
export function drawWave(picture, lows, highs) {
  picture.setAttribute("viewBox", `0 0 ${WIDE} ${HIGH}`);
  picture.setAttribute("preserveAspectRatio", "none");
  picture.replaceChildren(part("path", { class: "ground", d: `M0,${HIGH / 2}H${WIDE}` }));
  if (!lows.length) return;
  const loudest = Math.max(1e-6, ...highs.map(Math.abs), ...lows.map(Math.abs));
  picture.append(part("path", { class: "sound", d: outline(lows, highs, loudest) }));
}

/** The pieces of a recording between two moments, s; `levels` cover `seconds` in equal pieces. */
export function between(levels, seconds, from, until) {
  const count = levels.low.length;
  const first = Math.max(0, Math.floor((from / seconds) * count));
  const last = Math.min(count, Math.ceil((until / seconds) * count));
  return { low: levels.low.slice(first, last), high: levels.high.slice(first, last) };
}
