// @ts-check
/** Building by hand: tools that turn pointing into changes of the machine file, and snapping. */

import { board, under } from "./board.js";
import { desk } from "./desk.js";
import { draw, el, say } from "./wire.js";
import { degrees, fresh, length, list, onFrame, parts, per, planeName, points, scale, set, text, tidy } from "./written.js";

const plate = el("plate");
/** Pixels within which the pointer snaps. */
const NEAR = 11;

// --- the mark under the pointer: snapping ---------------------------------------------------------------------------------------

/** @typedef {import("./written.js").Point} Point */
/** @typedef {{at: number[], plane: number, point?: Point, form?: string, words: string, guide?: number[][]}} Spot */

/** The place that is meant. @param {PointerEvent} e @param {Point | null} from the point that is drawn from @param {string} [but] a point that is left out @returns {Spot} */
function spot(e, from, but) {
  const v = /** @type {Element} */ (e.target).closest?.("g.view");
  const plane = from?.plane ?? (v ? Number(/** @type {SVGElement} */ (v).dataset.view) : nearestView(e));
  const raw = board.at(e, plane);
  const near = NEAR / (scale() * (96 / 25.4));
  const here = points().filter((p) => p.plane === plane && p.name !== but);
  const apart = (/** @type {number[]} */ a, /** @type {number[]} */ b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
  const closest = here.sort((a, b) => apart(a.drawn, raw) - apart(b.drawn, raw))[0];
  if (closest && apart(closest.drawn, raw) < near * 1.3) return { at: closest.drawn, plane, point: closest, words: closest.name };
  if (e.altKey) return { at: raw.map(tidy), plane, words: "free" };
  /** @type {(Spot & {off: number})[]} */
  const found = [];
  if (from) {
    const d = [raw[0] - from.drawn[0], raw[1] - from.drawn[1]];
    const r = Math.hypot(d[0], d[1]);
    // As long as a part or rod that is there: an arc about the point it is drawn from.
    for (const [a, b, name] of stretches()) {
      const l = apart(a.drawn, b.drawn);
      if (l > 1e-6 && Math.abs(r - l) < near) {
        const angle = degrees((Math.atan2(d[1], d[0]) * 180) / Math.PI);
        const w = (angle * Math.PI) / 180;
        found.push({ off: Math.abs(r - l) * 1.2, plane, at: [from.drawn[0] + l * Math.cos(w), from.drawn[1] + l * Math.sin(w)], form: `{ from = ${text(from.name)}, reach = ${length(l)}, angle = "${angle} deg" }`, words: `as long as ${name}` });
      }
    }
    const start = from.name || "its first point";
    const ways = [0, 45, 90, 135].map((deg) => ({ deg, words: deg % 90 ? `${deg} deg from ${start}` : deg ? `plumb with ${start}` : `level with ${start}` }));
    for (const [a, b, name] of stretches()) {
      if (a.name !== from.name && b.name !== from.name) continue;
      const lies = (Math.atan2(b.drawn[1] - a.drawn[1], b.drawn[0] - a.drawn[0]) * 180) / Math.PI;
      ways.push({ deg: Number((lies + 90).toFixed(4)), words: `square to ${name}` });
    }
    for (const { deg, words } of ways) {
      const w = (deg * Math.PI) / 180;
      const t = tidy(d[0] * Math.cos(w) + d[1] * Math.sin(w));
      const off = Math.abs(-d[0] * Math.sin(w) + d[1] * Math.cos(w));
      if (off >= near) continue;
      const straight = deg % 90 === 0;
      const at = [from.drawn[0] + t * Math.cos(w), from.drawn[1] + t * Math.sin(w)].map((x) => (straight ? tidy(x) : x));
      found.push({ off: off * 1.05, plane, at, form: straight ? undefined : `{ from = ${text(from.name)}, reach = ${length(Math.abs(t))}, angle = "${Number((t < 0 ? deg - 180 : deg).toFixed(4))} deg" }`, words, guide: [from.drawn, raw] });
    }
  }
  // On the line through a part or rod.
  for (const [a, b, name] of stretches()) {
    if (a.plane !== plane || b.plane !== plane || a.name === but || b.name === but) continue;
    const d = [b.drawn[0] - a.drawn[0], b.drawn[1] - a.drawn[1]];
    const l2 = d[0] * d[0] + d[1] * d[1];
    if (l2 < 1e-9) continue;
    const share = ((raw[0] - a.drawn[0]) * d[0] + (raw[1] - a.drawn[1]) * d[1]) / l2;
    const foot = [a.drawn[0] + share * d[0], a.drawn[1] + share * d[1]];
    const off = apart(foot, raw);
    const reach = tidy(share * Math.sqrt(l2));
    if (off < near && share > -1 && share < 2) {
      const s = reach / Math.sqrt(l2);
      found.push({ off: off * 1.1, plane, at: [a.drawn[0] + s * d[0], a.drawn[1] + s * d[1]], form: `{ on = [${text(a.name)}, ${text(b.name)}], reach = ${length(reach)} }`, words: `on ${name}`, guide: [a.drawn, raw] });
    }
  }
  for (const p of here) {
    if (p === from) continue;
    for (const i of [0, 1]) {
      const off = Math.abs(raw[1 - i] - p.drawn[1 - i]);
      if (off < near * 0.6) {
        const at = i ? [p.drawn[0], tidy(raw[1])] : [tidy(raw[0]), p.drawn[1]];
        found.push({ off: off * 1.3, plane, at, words: `${i ? "plumb" : "level"} with ${p.name}`, guide: [p.drawn, at] });
      }
    }
  }
  const best = found.sort((a, b) => a.off - b.off)[0];
  if (best) return best;
  const grid = per() === 25.4 ? (scale() > 2 ? 1.5875 / 2 : scale() > 0.2 ? 1.5875 : 6.35) : scale() > 2 ? 0.5 : scale() > 0.2 ? 1 : 5;
  return { at: raw.map((x) => Math.round(x / grid) * grid), plane, words: "" };
}

/** Straight stretches between points: neighbours in parts, and rods. @returns {[Point, Point, string][]} */
function stretches() {
  const by = new Map(points().map((p) => [p.name, p]));
  const all = [];
  for (const p of parts().slice(1)) for (let i = 1; i < p.carries.length; i++) all.push([by.get(p.carries[i - 1]), by.get(p.carries[i]), p.name]);
  for (const r of board.picture?.rods ?? []) if (r.joins) all.push([by.get(r.joins[0]), by.get(r.joins[1]), r.name]);
  return /** @type {any} */ (all.filter(([a, b]) => a && b));
}

/** The view whose area an event falls into. @param {PointerEvent} e */
function nearestView(e) {
  const views = board.picture?.views ?? [];
  const box = board.sheet?.getBoundingClientRect();
  if (!box || views.length < 2) return views[0]?.plane ?? 0;
  const mm = [(e.clientX - box.left) / (96 / 25.4), (e.clientY - box.top) / (96 / 25.4)];
  const off = (/** @type {any} */ v) => Math.max(v.covers[0] - mm[0], mm[0] - v.covers[2], 0) + Math.max(v.covers[1] - mm[1], mm[1] - v.covers[3], 0);
  return [...views].sort((a, b) => off(a) - off(b))[0].plane;
}

/** How a spot is written as a point. @param {Spot} s */
function written(s) {
  if (s.form) return s.form;
  const xy = `[${length(s.at[0])}, ${length(s.at[1])}]`;
  return s.plane ? `{ at = ${xy}, plane = ${text(planeName(s.plane))} }` : xy;
}

/** The point of a spot: the one that is there, or a new one with the change that makes it. @param {Spot} s @param {Set<string>} [also] @returns {[string, any[]]} */
function pointAt(s, also) {
  if (s.point) return [s.point.name, []];
  const name = fresh("point", also);
  return [name, [set(["point", name], written(s))]];
}

// --- tools ----------------------------------------------------------------------------------------------------------------------

/** What has been pointed at so far. @type {Spot[]} */
let chain = [];
/** @type {any} */
let target = null;
/** @type {{point: Point, spot: Spot | null} | null} */
let pulled = null;

const hints = {
  move: "Take hold of the machine and move it",
  shape: "Pick a point, part or rod; drag a point to another place",
  point: "Point where it is to be",
  bar: "Point where the part begins; the first part begins on the frame",
  rod: "Point at its first end",
  fix: "Point at a point: the frame holds it, or lets it go",
  slide: "Point at the part that is to slide",
  drive: "Point at the part that is moved",
  read: "Point at a point to measure from, or at a part for its turn",
  force: "Point at where it is pressed",
  row: "Point at the part that gets the holes",
};

/** Takes a tool in hand. @param {string} tool */
export function take(tool) {
  board.tool = tool;
  chain = [];
  target = null;
  for (const b of el("tools").querySelectorAll("button")) {
    const on = b.dataset.tool === tool;
    b.setAttribute("aria-pressed", String(on));
    b.tabIndex = on ? 0 : -1;
  }
  plate.dataset.tool = tool;
  say(hints[/** @type {keyof typeof hints} */ (tool)] ?? "");
  // What is built is built on the machine as drawn: that is where the file's points are.
  if (tool !== "move" && Object.keys(desk.values).length) {
    desk.values = {};
    desk.put({});
  }
  overlay(null);
}

/** The tool stays in hand for the next. */
function again() {
  chain = [];
  target = null;
  overlay(null);
}

/** Ends the part that is being drawn. */
export async function finish() {
  if (board.tool === "bar" && chain.length > 1) await endBar();
  again();
}

async function endBar() {
  const changes = [];
  const names = [];
  const taken = new Set();
  for (const s of chain) {
    const [name, made] = pointAt(s, taken);
    taken.add(name);
    names.push(name);
    changes.push(...made);
  }
  const first = parts().length < 2 && !(parts()[0]?.carries ?? []).length;
  const bar = fresh("bar", taken);
  if (first) changes.push(...onFrame([names[0]]));
  changes.push(set(["part", bar, "carries"], list(names)));
  chain = [];
  await desk.edit(`drew ${bar}`, changes);
  desk.pick({ kind: "part", name: bar });
}

/** @param {PointerEvent} e */
async function down(e) {
  if (!desk.state.good) return say("The file has errors: mend them first, they are told below The file", true);
  const last = chain.at(-1);
  const from = last ? { name: last.point?.name ?? "", plane: last.plane, drawn: last.at } : null;
  const s = spot(e, from, undefined);
  // A place drawn from one that has no name yet cannot speak of it.
  if (from && !from.name && s.form?.includes('from = ""')) s.form = undefined;
  const it = under(e);
  const part = it?.kind === "part" ? it.name : null;
  switch (board.tool) {
    case "shape":
      if (s.point) {
        desk.pick({ kind: "point", name: s.point.name });
        pulled = { point: s.point, spot: null };
        if (e.pointerId >= 0) plate.setPointerCapture(e.pointerId);
      } else desk.pick(it ? { kind: it.kind, name: it.name } : null);
      return;
    case "point": {
      if (s.point) return desk.pick({ kind: "point", name: s.point.name });
      const [name, made] = pointAt(s);
      await desk.edit(`marked ${name}`, made);
      return desk.pick({ kind: "point", name });
    }
    case "bar":
      if (chain.length > 1 && (s.point?.name ?? "") === (chain[0].point?.name ?? "-") ) return finish();
      if (chain.length && Math.hypot(s.at[0] - (last?.at[0] ?? 0), s.at[1] - (last?.at[1] ?? 0)) < 1e-6) return finish();
      chain.push(s);
      if (chain.length === 2 && !e.shiftKey) return finish();
      say(chain.length === 1 ? "Point where it ends; with Shift it goes on to further points" : "Point on; Enter ends the part");
      return overlay(s);
    case "rod": {
      chain.push(s);
      if (chain.length < 2) return say("Point at its other end"), overlay(s);
      const [a, made] = pointAt(chain[0]);
      const [b, more] = pointAt(chain[1], new Set([a]));
      const rod = fresh("rod", new Set([a, b]));
      chain = [];
      await desk.edit(`joined ${a} and ${b}`, [...made, ...more, set(["rod", rod, "joins"], list([a, b]))]);
      return desk.pick({ kind: "rod", name: rod });
    }
    case "fix": {
      if (!s.point) return say("Point at a point that is there", true);
      const name = s.point.name;
      const at = (parts()[0]?.carries ?? []).indexOf(name);
      if (at >= 0) return desk.edit(`freed ${name} from the frame`, [{ remove: { at: ["frame", "carries", String(at)] } }]);
      return desk.edit(`pinned ${name} to the frame`, onFrame([name]));
    }
    case "drive": {
      if (!part) return say("Point at the line of a part", true);
      const p = parts().find((x) => x.name === part);
      const name = fresh(p.slide ? "stroke" : "turn");
      const what = p.slide ? [set(["drive", name, "slides"], text(p.slide))] : [set(["drive", name, "turns"], text(part)), set(["drive", name, "range"], '"whole turn"')];
      await desk.edit(`${part} is driven`, what);
      return desk.pick({ kind: "drive", name });
    }
    case "slide":
      if (!target) {
        if (!part) return say("Point at the line of a part", true);
        target = { part, at: s.at };
        return say(`Point where ${part} is to go`);
      } else {
        const angle = Math.round((Math.atan2(s.at[1] - target.at[1], s.at[0] - target.at[0]) * 180) / Math.PI);
        const along = { 0: "right", 90: "up", 180: "left", "-180": "left", "-90": "down" }[angle] ?? `${angle} deg`;
        const slide = fresh(`${target.part}-guide`);
        await desk.edit(`${target.part} slides`, [set(["slide", slide, "part"], text(target.part)), set(["slide", slide, "along"], text(along))]);
        return again();
      }
    case "read":
      if (!target) {
        if (!s.point && !part) return say("Point at a point or a part", true);
        target = { point: s.point?.name, part };
        return say(target.point ? `Point at the point to measure to from ${target.point}` : `Point at ${part} again for its turn`);
      } else {
        const name = fresh(target.point ? `${target.point}-to-${s.point?.name ?? "other"}` : `${target.part}-turn`);
        if (target.point && s.point && s.point.name !== target.point) await desk.edit(`measured ${target.point} to ${s.point.name}`, [set(["reading", name, "distance"], list([target.point, s.point.name]))]);
        else if (target.part && part === target.part) await desk.edit(`measured the turn of ${part}`, [set(["reading", name, "turn-of"], text(part))]);
        else return say("Two points make a distance; one part twice makes its turn", true);
        again();
        return desk.pick({ kind: "reading", name });
      }
    case "force":
      if (!target) {
        if (!s.point) return say("Point at a point that is there", true);
        target = s;
        return say("Point where the force points to"), overlay(s);
      } else {
        const name = fresh(`push-on-${target.point.name}`);
        const angle = Math.round((Math.atan2(s.at[1] - target.at[1], s.at[0] - target.at[0]) * 180) / Math.PI);
        // On a pin where parts meet one of them is pressed; which, can be typed anew below Picked.
        const on = parts().filter((x) => x.carries.includes(target.point.name));
        const whose = on.length > 1 ? [set(["load", name, "part"], text((on.find((x) => x.name !== "frame") ?? on[0]).name))] : [];
        await desk.edit(`pressed on ${target.point.name}`, [set(["load", name, "at"], text(target.point.name)), ...whose, set(["load", name, "force"], '"100 N"'), set(["load", name, "along"], text(`${angle} deg`))]);
        again();
        return desk.pick({ kind: "load", name });
      }
    case "row":
      if (!target) {
        if (!part) return say("Point at the line of a part", true);
        target = { part, spots: [] };
        return say("Point at the first hole");
      }
      target.spots.push(s);
      if (target.spots.length < 2) return say("Point at the next hole"), overlay(s);
      {
        const [a, b] = target.spots;
        const name = fresh("holes");
        await desk.edit(`a row of holes in ${target.part}`, [set(["row", name, "on"], text(target.part)), set(["row", name, "first"], written({ ...a, form: a.form })), set(["row", name, "step"], stepTo(target.part, a.at, b.at)), set(["row", name, "count"], "5"), set(["row", name, "use"], "1")]);
        again();
        return desk.pick({ kind: "row", name });
      }
  }
}

/** The way from hole to hole: along the part where it runs there. @param {string} part @param {number[]} a @param {number[]} b */
function stepTo(part, a, b) {
  const d = [b[0] - a[0], b[1] - a[1]];
  const turn = (/** @type {number[]} */ [x, y]) => (Math.atan2(y, x) * 180) / Math.PI;
  const lines = stretches().filter(([, , name]) => name === part).map(([p, q]) => turn([q.drawn[0] - p.drawn[0], q.drawn[1] - p.drawn[1]]));
  const off = (/** @type {number} */ w) => Math.abs(((turn(d) - w + 540) % 360) - 180);
  const along = lines.flatMap((w) => [w, w + 180]).find((w) => off(w) < 3);
  if (along == null) return `{ by = [${length(d[0])}, ${length(d[1])}] }`;
  return `{ reach = ${length(Math.hypot(d[0], d[1]))}, angle = "${Number(along.toFixed(6))} deg" }`;
}

plate.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => {
  if (board.tool === "move" || e.button > 0) return;
  e.preventDefault();
  plate.focus({ preventScroll: true });
  down(e);
});
plate.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => {
  if (board.tool === "move" || !board.sheet) return;
  const last = chain.at(-1) ?? (target?.at && board.tool !== "row" ? target : null);
  if (pulled) {
    pulled.spot = spot(e, null, pulled.point.name);
    board.attempt(replaced(pulled.point, pulled.spot));
    return overlay(pulled.spot, pulled.point.drawn);
  }
  const from = last ? { name: last.point?.name ?? "", plane: last.plane ?? 0, drawn: last.at } : null;
  overlay(spot(e, from), last?.at);
});
plate.addEventListener("pointerup", () => {
  const p = pulled;
  pulled = null;
  const away = p?.spot && Math.hypot(p.spot.at[0] - p.point.drawn[0], p.spot.at[1] - p.point.drawn[1]) > 1e-6;
  if (p?.spot && away) replace(p.point, p.spot);
  else if (p) settle();
  else overlay(null);
});
/** The machine as it is, after one that was only tried. */
function settle() {
  board.attempt(null);
  overlay(null);
}

// --- pointing with keys ---------------------------------------------------------------------------------------------------------

/** Where the keys point, CSS pixels from the corner of the plate. @type {number[] | null} */
let cursor = null;
const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

plate.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
  const way = ways[/** @type {keyof typeof ways} */ (e.key)];
  if (board.tool === "move" || e.target !== plate || (!way && e.key !== "Enter")) return;
  e.preventDefault();
  e.stopPropagation();
  const box = plate.getBoundingClientRect();
  cursor ??= [box.width / 2, box.height / 2];
  const by = e.shiftKey ? 1 : 12;
  if (way) cursor = [Math.min(box.width - 2, Math.max(2, cursor[0] + way[0] * by)), Math.min(box.height - 2, Math.max(2, cursor[1] + way[1] * by))];
  const [clientX, clientY] = [box.left + cursor[0], box.top + cursor[1]];
  const on = document.elementFromPoint(clientX, clientY) ?? plate;
  const send = (/** @type {string} */ kind) => on.dispatchEvent(new PointerEvent(kind, { clientX, clientY, bubbles: true, button: 0, pointerId: -1 }));
  if (way) send("pointermove");
  else {
    send("pointerdown");
    send("pointerup");
  }
  const words = plate.querySelector(".meant text")?.textContent;
  if (way && words) say(words);
});

/** The changes that put a point elsewhere, in the way in which it is constructed; none where it hangs on others alone. @param {Point} point @param {Spot} s @returns {any[] | null} */
function replaced(point, s) {
  const now = desk.section("point").get(point.name) ?? "";
  const from = /from\s*=\s*"([\w-]+)"/.exec(now)?.[1];
  const base = from && points().find((p) => p.name === from);
  if (/^\s*\[/.test(now)) return [set(["point", point.name], written({ ...s, plane: 0, form: s.point ? undefined : s.form }))];
  if (/\bat\s*=\s*\[/.test(now)) return [set(["point", point.name, "at"], `[${length(s.at[0])}, ${length(s.at[1])}]`)];
  if (base && /reach\s*=/.test(now)) {
    const d = [s.at[0] - base.drawn[0], s.at[1] - base.drawn[1]];
    return [set(["point", point.name, "reach"], length(Math.hypot(d[0], d[1]))), set(["point", point.name, "angle"], `"${degrees((Math.atan2(d[1], d[0]) * 180) / Math.PI)} deg"`)];
  }
  const on = /\bon\s*=\s*\[\s*"([\w-]+)"\s*,\s*"([\w-]+)"\s*\]/.exec(now)?.slice(1).map((n) => points().find((p) => p.name === n)?.drawn);
  if (on?.[0] && on[1] && /reach\s*=/.test(now)) {
    const [a, b] = on;
    const d = [b[0] - a[0], b[1] - a[1]];
    return [set(["point", point.name, "reach"], length(((s.at[0] - a[0]) * d[0] + (s.at[1] - a[1]) * d[1]) / Math.hypot(d[0], d[1])))];
  }
  if (base && /by\s*=/.test(now)) return [set(["point", point.name, "by"], `[${length(s.at[0] - base.drawn[0])}, ${length(s.at[1] - base.drawn[1])}]`)];
  return null;
}

/** Puts a point elsewhere. @param {Point} point @param {Spot} s */
async function replace(point, s) {
  const changes = replaced(point, s);
  if (!changes) say(`${point.name} follows from others (${(desk.section("point").get(point.name) ?? "").trim()}); move those, or type it anew below Picked`, true);
  if (!changes || !(await desk.edit(`moved ${point.name}`, changes))) settle();
}

// --- the overlay ----------------------------------------------------------------------------------------------------------------

/** Shows what is meant: the spot, what it snaps to, the line that is being drawn. @param {Spot | null} s @param {number[]} [from] */
function overlay(s, from) {
  plate.querySelectorAll("g.meant").forEach((/** @type {Element} */ g) => g.remove());
  const v = s && board.view(s.plane);
  if (!v) return;
  const g = draw("g", { class: "meant", "aria-hidden": "true" });
  const [x, y] = board.paper(s.at);
  const line = (/** @type {number[]} */ a, /** @type {number[]} */ b, /** @type {string} */ cls) => {
    const [p, q] = [board.paper(a), board.paper(b)];
    g.append(draw("path", { class: cls, d: `M${p[0]} ${p[1]}L${q[0]} ${q[1]}` }));
  };
  const trail = [...chain.map((c) => c.at), ...(from && !chain.length ? [from] : []), s.at];
  for (let i = 1; i < trail.length; i++) line(trail[i - 1], trail[i], "drive");
  if (s.guide) line(s.guide[0], s.guide[1], "chain");
  g.append(draw("circle", { class: "drive", cx: x, cy: y, r: s.point ? 2.4 : 1.4 }));
  const start = trail.at(-2);
  const long = start ? `${length(Math.hypot(s.at[0] - start[0], s.at[1] - start[1]))} ${desk.state.unit}` : `${length(s.at[0])}, ${length(s.at[1])} ${desk.state.unit}`;
  const words = draw("text", { class: "drive-note", x: x + 3, y: y - 3, "font-size": 3.43 });
  words.textContent = [s.words, s.point ? "" : long].filter(Boolean).join(" · ");
  g.append(words);
  v.append(g);
}
board.overlay = () => (pulled?.spot ? overlay(pulled.spot, pulled.point.drawn) : overlay(null));

desk.on("state", (changed) => {
  if (changed && desk.state.good && desk.state.drives.length === 0 && !/^\s*\[(part|shaft)\./m.test(desk.state.text)) say("An empty sheet: take Part (B) and point where the first part begins, then where it ends");
});
// What is built is built on the machine as drawn: whoever moves it has put the tool away.
desk.on("pose", () => {
  if (board.tool !== "move" && Object.keys(desk.values).length) take("move");
});
for (const b of el("tools").querySelectorAll("button")) b.addEventListener("click", () => take(b.dataset.tool ?? "move"));
el("tools").addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
  const by = { ArrowDown: 1, ArrowRight: 1, ArrowUp: -1, ArrowLeft: -1 }[e.key];
  if (!by) return;
  e.preventDefault();
  const all = [...el("tools").querySelectorAll("button")];
  const next = all[(all.indexOf(document.activeElement) + by + all.length) % all.length];
  all.forEach((b) => (b.tabIndex = b === next ? 0 : -1));
  next.focus();
});
