/** A film drawn: height against time above, how far each place lies off the flights below, magnified. */

const NS = "http://www.w3.org/2000/svg";
const LEFT = 46;
const RIGHT = 10;
const TOP = 22;
const GAP = 44;
const BELOW = 24;
const SHARE = 0.66;
/** Places up to so many times the usual scatter off the flights are not in doubt: as the server has it. */
const FAR = 4;

function part(name, attributes, text = "") {
  const made = document.createElementNS(NS, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  if (text) made.textContent = text;
  return made;
}

/** Round values from low to high, about as many as are asked for. */
function ticks(low, high, about) {
  const rough = (high - low) / about;
  const size = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((times) => times * size).find((one) => one >= rough);
  const made = [];
  for (let value = Math.ceil(low / step) * step; value <= high + 1e-9; value += step) made.push(value);
  return { made, decimals: Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) };
}

function words(value, decimals) {
  const text = value.toFixed(decimals);
  return /^-0(\.0+)?$/.test(text) ? text.slice(1) : text.replace("-", "−");
}

/** Where everything stands, px, in a picture of this size. */
export function layout(view, wide, high) {
  const pictures = view.pictures;
  const first = pictures[0].time;
  const last = pictures[pictures.length - 1].time;
  const heights = pictures.map((one) => one.height ?? 0);
  const top = Math.max(1, ...heights) * 1.04;
  const low = Math.min(0, ...heights);
  const offs = pictures.filter((one) => one.look !== "not used" && one.off !== null).map((one) => Math.abs(one.off));
  const usual = view.usual ?? 0.1;
  const most = Math.max((FAR + 1) * usual, Math.min(Math.max(0, ...offs) * 1.1, 30 * usual));
  const upper = TOP + (high - TOP - GAP - BELOW) * SHARE;
  const [offTop, offBottom] = [upper + GAP, high - BELOW];
  return {
    wide, high, upper, offTop, offBottom, most, usual, top, first, last,
    x: (time) => LEFT + ((time - first) / (last - first || 1)) * (wide - LEFT - RIGHT),
    time: (x) => first + ((x - LEFT) / (wide - LEFT - RIGHT)) * (last - first),
    y: (height) => upper - ((height - low) / (top - low)) * (upper - TOP),
    off: (value) => {
      const share = Math.min(Math.max(value / most, -1), 1);
      return (offTop + offBottom) / 2 - (share * (offBottom - offTop)) / 2;
    },
  };
}

function ground(at, view) {
  const made = [part("rect", {
    class: "band", x: LEFT, width: at.wide - LEFT - RIGHT, y: at.off(FAR * at.usual),
    height: Math.max(1, at.off(-FAR * at.usual) - at.off(FAR * at.usual)),
  })];
  const heights = ticks(0, at.top, 4);
  for (const value of heights.made) {
    made.push(part("path", { class: "rule", d: `M${LEFT},${at.y(value)}H${at.wide - RIGHT}` }));
    made.push(part("text", { x: LEFT - 12, y: at.y(value) + 4, "text-anchor": "end" }, words(value, heights.decimals)));
  }
  const most = ticks(0, at.most, 2);
  const end = most.made[most.made.length - 1];
  for (const value of [...new Set([-end, 0, end])]) {
    made.push(part("path", { class: "rule", d: `M${LEFT},${at.off(value)}H${at.wide - RIGHT}` }));
    made.push(part("text", { x: LEFT - 12, y: at.off(value) + 4, "text-anchor": "end" }, words(value, most.decimals)));
  }
  const times = ticks(at.first, at.last, at.wide < 500 ? 4 : 8);
  for (const value of times.made) {
    const x = at.x(value);
    const anchor = x > at.wide - 24 ? "end" : "middle"; // the last one stays inside
    const along = anchor === "end" ? at.wide - 3 : x;
    made.push(part("text", { x: along, y: at.upper + 15, "text-anchor": anchor }, words(value, times.decimals)));
  }
  made.push(part("text", { class: "head", x: 2, y: 13 }, "Height above the plate, mm; time, s"));
  made.push(part("text", { class: "head", x: 2, y: at.offTop - 8 }, "Off the flights, mm; band: usual"));
  return made;
}

function flights(at, view) {
  let way = "";
  let pen = "M";
  for (const [time, height] of view.curve) {
    if (height === null) pen = "M";
    else {
      way += `${pen}${at.x(time).toFixed(1)},${at.y(height).toFixed(1)}`;
      pen = "L";
    }
  }
  return part("path", { class: "flight", d: way || "M0,0" });
}

function cross(x, y, kind) {
  return part("path", { class: `cross ${kind}`, d: `M${x - 4},${y - 4}L${x + 4},${y + 4}M${x - 4},${y + 4}L${x + 4},${y - 4}` });
}

function dot(x, y, look) {
  if (look === "left out" || look === "doubted") return cross(x, y, look === "doubted" ? "doubted" : "out");
  const made = { used: ["dot", 2.4], "by hand": ["dot hand", 4], moved: ["dot hand", 4], "not used": ["dot none", 2] }[look];
  return part("circle", { class: made[0], cx: x, cy: y, r: made[1] });
}

/** Draw a film; `looks` says of each picture what stands of it now. */
export function drawFilm(svg, view, at, looks, hand) {
  svg.setAttribute("viewBox", `0 0 ${at.wide} ${at.high}`);
  const made = [...ground(at, view), flights(at, view)];
  for (const [k, one] of view.pictures.entries()) {
    if (one.height === null) continue;
    made.push(dot(at.x(one.time), at.y(one.height), looks[k]));
    if (one.off !== null && looks[k] !== "not used") made.push(dot(at.x(one.time), at.off(one.off), looks[k]));
  }
  const one = view.pictures[hand];
  const x = at.x(one.time);
  made.push(part("path", { class: "now", d: `M${x},${TOP - 4}V${at.upper}M${x},${at.offTop}V${at.offBottom}` }));
  if (one.height !== null) made.push(part("circle", { class: "now", cx: x, cy: at.y(one.height), r: 9 }));
  if (one.off !== null && looks[hand] !== "not used") made.push(part("circle", { class: "now", cx: x, cy: at.off(one.off), r: 9 }));
  svg.replaceChildren(...made);
}

/** Which picture is nearest to a place on the drawing; `across` looks along the time alone. */
export function nearest(view, at, x, y, across) {
  let best = 0;
  let least = Infinity;
  for (const [k, one] of view.pictures.entries()) {
    const dx = at.x(one.time) - x;
    const ys = across || one.height === null ? [y] : [at.y(one.height), at.off(one.off ?? 0)];
    const far = Math.min(...ys.map((own) => Math.hypot(dx, own - y)));
    if (far < least) [best, least] = [k, far];
  }
  return best;
}

/** The magnified piece of a picture: the one that is drawn already, where it is the same. */
function imageOf(svg, piece) {
  const href = `data:image/jpeg;base64,${piece.jpeg}`;
  const had = svg.querySelector("image");
  if (had?.getAttribute("href") === href) return had;
  return part("image", { href, width: piece.side, height: piece.side, preserveAspectRatio: "none" });
}

/** Draw the magnified piece of a picture, and over it the ring of the ball and its middle. */
export function drawPlace(svg, piece, place, breadth, kind) {
  svg.setAttribute("viewBox", `0 0 ${piece.side} ${piece.side}`);
  const [x, y] = [place.x - piece.left, place.y - piece.top];
  const arm = breadth / 6;
  const lines = `M${x - arm},${y}H${x + arm}M${x},${y - arm}V${y + arm}`;
  const ring = { cx: x, cy: y, r: breadth / 2 };
  svg.replaceChildren(
    imageOf(svg, piece),
    part("circle", { class: "halo", ...ring }), part("path", { class: "halo", d: lines }),
    part("circle", { class: `ring ${kind}`, ...ring }), part("path", { class: `ring ${kind}`, d: lines }),
  );
}
