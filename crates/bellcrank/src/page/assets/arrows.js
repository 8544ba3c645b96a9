// @ts-check
/** Forces as arrows at the pins. */

import { desk } from "./desk.js";
import { draw } from "./wire.js";

/** Forces as arrows, the words of each where they cover nothing, on a leader where that is farther off. @param {any} board @param {Map<number, number[][]>} lettered paper that names cover, by plane @param {any[]} forces */
export function arrows(board, lettered, forces) {
  const { picture, sheet, paper } = board;
  for (const g of sheet?.querySelectorAll("g.view > g.over") ?? []) {
    const plane = Number(/** @type {any} */ (g.parentElement).dataset.view);
    const [vx, vy] = picture.views.find((/** @type {any} */ v) => v.plane === plane)?.origin ?? [0, 0];
    const here = forces.filter((f) => f.plane === plane);
    /** Paper that is covered: names, pins, arrows. @type {number[][]} */
    const taken = [...(lettered.get(plane) ?? [])];
    const places = desk.pose?.places ?? picture.places;
    picture.points.forEach((/** @type {any} */ p, /** @type {number} */ i) => {
      if (p.plane !== plane || !places.points[i]) return;
      const [x, y] = paper(places.points[i]);
      taken.push([x - 2, y - 2, x + 2, y + 2]);
    });
    const along = (/** @type {number[]} */ p, /** @type {number[]} */ q) => {
      const long = Math.hypot(q[0] - p[0], q[1] - p[1]);
      for (let t = 0; t < long; t += 2) {
        const [x, y] = [0, 1].map((i) => p[i] + ((q[i] - p[i]) * t) / long);
        taken.push([x - 0.5, y - 0.5, x + 0.5, y + 0.5]);
      }
    };
    const put = (/** @type {string} */ name) => picture.points.findIndex((/** @type {any} */ p) => p.name === name && p.plane === plane);
    for (const part of picture.parts.slice(1)) {
      const spots = part.carries.map(put).filter((/** @type {number} */ i) => i >= 0 && places.points[i]);
      for (let i = 1; i < spots.length; i++) along(paper(places.points[spots[i - 1]]), paper(places.points[spots[i]]));
    }
    // What holds a pin to the frame has about the size of its sign.
    for (const i of picture.parts[0].carries.map(put)) {
      if (i < 0 || !places.points[i]) continue;
      const [x, y] = paper(places.points[i]);
      taken.push([x - 4, y - 4, x + 4, y + 6]);
    }
    picture.rods.forEach((/** @type {any} */ r, /** @type {number} */ i) => {
      const ends = places.rods[i];
      if (ends && r.joins?.every((/** @type {string} */ name) => put(name) >= 0)) along(paper(ends[0]), paper(ends[1]));
    });
    const drawn = here.map((f) => {
      const [x, y] = paper(f.at);
      const way = (f.angle * Math.PI) / 180;
      const [c, s] = [Math.cos(way), -Math.sin(way)];
      for (let t = 2; t < f.long; t += 2) taken.push([x + c * t - 0.7, y + s * t - 0.7, x + c * t + 0.7, y + s * t + 0.7]);
      return { f, x, y, tip: [x + c * (f.long + 2.5), y + s * (f.long + 2.5)] };
    });
    g.replaceChildren(...drawn.map(({ f, x, y, tip }) => {
      // On narrow paper the number alone has room; whose it is, the tables say.
      const told = picture.size[0] < 150 ? f.words.replace(/ on .*/, "") : f.words;
      const wide = told.length * 2.05;
      const within = (/** @type {number[]} */ [a, b, c, d]) => a > 0.5 - vx && c < picture.size[0] - vx - 0.5 && b > 0.5 - vy && d < picture.size[1] - vy - 0.5;
      const box = (/** @type {number} */ px, /** @type {number} */ py) => [px - 0.3, py - 3.2, px + wide, py + 1];
      // Of places that all cover something the one that covers least.
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
      const near = [Math.min(b[2], Math.max(b[0], tip[0])), Math.min(b[3], Math.max(b[1], tip[1]))];
      const arrow = draw("g", { class: "force" });
      const turned = draw("g", { transform: `translate(${x} ${y}) rotate(${-f.angle})` });
      turned.append(
        draw("path", { class: "drive", d: `M1.5 0L${f.long} 0` }),
        draw("path", { class: "drive-ink", d: `M${f.long + 1.5} 0l-2.5 .8v-1.6z` }),
      );
      const words = draw("text", { class: "drive-note", "font-size": 3.43, x: spot[0], y: spot[1] });
      words.textContent = told;
      const title = draw("title");
      title.textContent = `${f.joint}: ${f.words}`;
      arrow.append(title, turned);
      if (Math.hypot(near[0] - tip[0], near[1] - tip[1]) > 3) arrow.append(draw("path", { class: "drive thin", d: `M${tip[0]} ${tip[1]}L${near[0]} ${near[1]}` }));
      arrow.append(words);
      return arrow;
    }));
  }
}
