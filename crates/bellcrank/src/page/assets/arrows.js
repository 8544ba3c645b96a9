// @ts-check
/** Forces as arrows at the pins. */

import { desk } from "./desk.js";
import { draw } from "./wire.js";

/** Forces as arrows, the words of each where they cover nothing, on a leader where that is farther off. @param {any} board @param {Map<number, number[][]>} lettered paper that names cover, by plane @param {any[]} forces */
export function arrows(board, lettered, forces) {
  const { picture, sheet } = board;
  /** Paper of the whole picture that is covered: names, pins, lines, arrows. @type {number[][]} */
  const taken = [];
  /** @type {(() => void)[]} */
  const after = [];
  for (const g of sheet?.querySelectorAll("g.view > g.over") ?? []) {
    const plane = Number(/** @type {any} */ (g.parentElement).dataset.view);
    const origin = picture.views.find((/** @type {any} */ v) => v.plane === plane)?.origin ?? [0, 0];
    const here = forces.filter((f) => f.plane === plane);
    if (forces.length) cover(board, plane, origin, lettered.get(plane) ?? [], taken);
    const drawn = here.map((f) => {
      const [x, y] = board.paper(f.at);
      const way = (f.angle * Math.PI) / 180;
      const [c, s] = [Math.cos(way), -Math.sin(way)];
      const [ax, ay] = [x + origin[0], y + origin[1]];
      for (let t = 2; t < f.long; t += 2) taken.push([ax + c * t - 0.7, ay + s * t - 0.7, ax + c * t + 0.7, ay + s * t + 0.7]);
      return { f, x, y, tip: [x + c * (f.long + 2.5), y + s * (f.long + 2.5)] };
    });
    // The words of one view keep off the lines of all.
    after.push(() => g.replaceChildren(...drawn.map((it) => arrow(picture.size, origin, taken, it))));
  }
  for (const then of after) then();
}

/** What a view covers of the picture: its names, pins and the lines between them. @param {any} board @param {number} plane @param {number[]} origin @param {number[][]} names @param {number[][]} taken */
function cover({ picture, paper }, plane, [vx, vy], names, taken) {
  for (const [a, b, c, d] of names) taken.push([a + vx, b + vy, c + vx, d + vy]);
  const places = desk.pose?.places ?? picture.places;
  const at = (/** @type {number[]} */ p) => {
    const [x, y] = paper(p);
    return [x + vx, y + vy];
  };
  const about = (/** @type {number[]} */ p, /** @type {number} */ r, below = r) => {
    const [x, y] = at(p);
    taken.push([x - r, y - r, x + r, y + below]);
  };
  picture.points.forEach((/** @type {any} */ p, /** @type {number} */ i) => {
    if (p.plane === plane && places.points[i]) about(places.points[i], 2);
  });
  const along = (/** @type {number[]} */ from, /** @type {number[]} */ to) => {
    const [p, q] = [at(from), at(to)];
    const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
    for (let t = 0; t < long; t += 2) {
      const [x, y] = [0, 1].map((i) => p[i] + ((q[i] - p[i]) * t) / long);
      taken.push([x - 0.5, y - 0.5, x + 0.5, y + 0.5]);
    }
  };
  const put = (/** @type {string} */ name) => picture.points.findIndex((/** @type {any} */ p) => p.name === name && p.plane === plane);
  for (const part of picture.parts.slice(1)) {
    const spots = part.carries.map(put).filter((/** @type {number} */ i) => i >= 0 && places.points[i]);
    for (let i = 1; i < spots.length; i++) along(places.points[spots[i - 1]], places.points[spots[i]]);
  }
  // What holds a pin to the frame has about the size of its sign.
  for (const i of picture.parts[0].carries.map(put)) if (i >= 0 && places.points[i]) about(places.points[i], 4, 6);
  picture.rods.forEach((/** @type {any} */ r, /** @type {number} */ i) => {
    const ends = places.rods[i];
    if (ends && r.joins?.every((/** @type {string} */ name) => put(name) >= 0)) along(ends[0], ends[1]);
  });
}

/** One arrow with its words where they cover least. @param {number[]} size @param {number[]} origin @param {number[][]} taken @param {{f: any, x: number, y: number, tip: number[]}} it */
function arrow(size, [vx, vy], taken, { f, x, y, tip }) {
  // On narrow paper the number alone has room; whose it is, the tables say.
  const told = size[0] < 150 ? f.words.replace(/ on .*/, "") : f.words;
  const wide = told.length * 2.05;
  const within = (/** @type {number[]} */ [a, b, c, d]) => a > 0.5 && c < size[0] - 0.5 && b > 0.5 && d < size[1] - 0.5;
  const box = (/** @type {number} */ px, /** @type {number} */ py) => [px + vx - 0.3, py + vy - 3.2, px + vx + wide, py + vy + 1];
  let [spot, least] = [[tip[0] + 1, tip[1] + 1], Infinity];
  search: for (const off of [1, 4, 7, 10, 14, 18, 24, 32, 42]) {
    for (const [ox, oy] of [[off, 1], [-off - wide, 1], [off, 1 - off], [off, 1 + off], [-off - wide, 1 - off], [-off - wide, 1 + off], [-wide / 2, -off], [-wide / 2, off + 3]]) {
      const b = box(tip[0] + ox, tip[1] + oy);
      if (!within(b)) continue;
      const covers = taken.reduce((sum, t) => sum + Math.max(0, Math.min(b[2], t[2]) - Math.max(b[0], t[0])) * Math.max(0, Math.min(b[3], t[3]) - Math.max(b[1], t[1])), 0);
      if (covers < least) [spot, least] = [[tip[0] + ox, tip[1] + oy], covers];
      if (!covers) break search;
    }
  }
  const b = box(spot[0], spot[1]);
  taken.push(b);
  const near = [Math.min(b[2] - vx, Math.max(b[0] - vx, tip[0])), Math.min(b[3] - vy, Math.max(b[1] - vy, tip[1]))];
  const all = draw("g", { class: "force" });
  const turned = draw("g", { transform: `translate(${x} ${y}) rotate(${-f.angle})` });
  turned.append(
    draw("path", { class: "drive", d: `M1.5 0L${f.long} 0` }),
    draw("path", { class: "drive-ink", d: `M${f.long + 1.5} 0l-2.5 .8v-1.6z` }),
  );
  const words = draw("text", { class: "drive-note", "font-size": 3.43, x: spot[0], y: spot[1] });
  words.textContent = told;
  const title = draw("title");
  title.textContent = `${f.joint}: ${f.words}`;
  all.append(title, turned);
  if (Math.hypot(near[0] - tip[0], near[1] - tip[1]) > 3) all.append(draw("path", { class: "drive thin", d: `M${tip[0]} ${tip[1]}L${near[0]} ${near[1]}` }));
  all.append(words);
  return all;
}
