// @ts-check
/** The drawing board: the machine as a picture whose groups are moved, and the hand that moves them. */

import { arrows } from "./arrows.js";
import { desk } from "./desk.js";
import { runs, stop } from "./play.js";
import { Latest, draw, el, get, later, make, post, say } from "./wire.js";

/** Paper is shown in its true size: CSS pixels to one mm. */
const PX = 96 / 25.4;
const plate = el("plate");
/** As in the style sheet, where the plate grows. */
const small = matchMedia("(max-width: 44rem)");

/** @type {any} */
let picture = null;
/** @type {SVGSVGElement | null} */
let sheet = null;
/** @type {{parts: Element[][], points: Element[][], rods: Element[][], springs: Element[][]}} */
let groups = { parts: [], points: [], rods: [], springs: [] };
/** A name, the paper its letters cover as it was placed, and how far it has gone from there. @typedef {{g: SVGGElement, box: number[], by: number[]}} Name */
/** The names of each view, the most telling first. @type {Name[][]} */
let names = [];
/** Paper that names cover, by plane. @type {Map<number, number[][]>} */
const lettered = new Map();
/** Zoom asked for; none: the whole machine fits. @type {number | null} */
let scale = null;
/** Names of points have room on a large board alone. */
let named = plate.clientWidth >= 680;
/** Points whose paths are shown. @type {string[]} */
let paths = [];
/** Poses left as shadows. @type {any[]} */
let shadows = [];

export const board = {
  get picture() {
    return picture;
  },
  get sheet() {
    return sheet;
  },
  /** The tool in hand; every tool but "move" belongs to build.js. */
  tool: "move",
  /** What build.js lays over the picture is kept when the picture is drawn anew. @type {() => void} */
  overlay: () => {},
  refresh: () => paint(),
  /** Shows the machine as it would be with some changes of the file; without any as it is. @param {any[] | null} changes */
  attempt(changes) {
    if (changes) return attempts.want(changes);
    attempts.next = undefined;
    if (picture?.version !== -1) return;
    painted = "";
    paint();
  },
  at,
  paper,
  view,
};

/** The group of a view. @param {number} plane @returns {SVGGElement | null} */
function view(plane) {
  return sheet?.querySelector(`g.view[data-view="${plane}"]`) ?? null;
}

/** Where an event is, right and up in a plane, mm of the machine. @param {{clientX: number, clientY: number}} e @param {number} plane @returns {[number, number]} */
function at(e, plane) {
  return inside(e, view(plane));
}

/** The same in the axes of any group. @param {{clientX: number, clientY: number}} e @param {SVGGraphicsElement | null} group @returns {[number, number]} */
function inside(e, group) {
  const m = group?.getScreenCTM();
  if (!m || !picture) return [0, 0];
  const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(m.inverse());
  return [p.x / picture.scale, -p.y / picture.scale];
}

/** A place of a plane on the paper of its view. @param {number[]} p @returns {[number, number]} */
function paper(p) {
  return [p[0] * picture.scale, -p[1] * picture.scale];
}

/** What the picture was laid out for: it is laid out anew when that has changed, and keeps its place and size otherwise. */
let laidOut = "";
/** What the picture shows, so that it is not fetched twice. */
let painted = "";

/** Where the views are. */
const kept = () => picture.views.map((/** @type {any} */ v) => `${v.plane}:${v.origin}`).join(";");

/** Fetches the picture as the machine stands, with names placed anew. @param {boolean} [anew] laid out anew */
async function paint(anew = false) {
  const box = plate.getBoundingClientRect();
  // On a small screen views stand one below the other, as tall as they need, and the plate grows with them.
  const stacked = small.matches;
  const tall = stacked ? 0.85 * box.width * (picture?.views.length ?? desk.state.planes?.length ?? 1) : box.height;
  // What is built keeps its size under the hand; a machine that is moved is laid out anew when it has changed.
  const now = `${scale} ${Math.round(box.width)} ${stacked || Math.round(box.height)} ${board.tool === "move" ? desk.state.version : ""}`;
  const keeps = !anew && picture?.svg && (laidOut === now || board.tool !== "move");
  const room = keeps ? picture.size : [box.width, tall].map((x) => Math.max(60, (x - 4) / PX).toFixed(1));
  const k = scale ?? (keeps ? picture.scale : null);
  const keep = keeps ? kept() : "";
  /** @type {Record<string, string>} */
  const more = { room: String(room), keep, names: named && !desk.extra.forces ? "all" : "parts", stacked: stacked ? "1" : "", scale: k ? String(k) : "" };
  const q = desk.query(more);
  for (const path of paths) q.append("trace", path);
  const asked = desk.state.version;
  const wish = `${asked} ${q}`.replace(/&?(keep|room|scale)=[^&]*/g, "");
  if (!anew && wish === painted && laidOut === now) return;
  painted = wish;
  try {
    const got = await get("picture", q);
    if (asked !== desk.state.version || hand) return (painted = "");
    laidOut = now;
    take({ ...got.picture, version: got.version }, keeps);
  } catch (t) {
    painted = "";
    // A file that never was a machine has no picture; its problems are told beside it.
    if (!desk.state.good) plate.replaceChildren(make("p", { class: "quiet-words" }, "There is nothing to draw yet: the file has errors, told below The file"));
    else desk.trouble(t);
  }
}

const attempts = new Latest(
  (/** @type {any[]} */ changes) => {
    const look = { room: String(picture.size), keep: kept(), names: named ? "all" : "parts", scale: String(picture.scale) };
    return post("trial", { changes, look: Object.entries(look) });
  },
  // No pose is one of the machine that is only tried.
  (got) => board.tool === "shape" && take({ ...got.picture, version: -1 }, true),
  (t) => say(t.sentence, true),
);

/** @param {any} got @param {boolean} keeps it is to stay where it is */
function take(got, keeps) {
  const was = keeps && picture?.scale === got.scale ? origin() : null;
  const shown = was && `${picture.size}` === `${got.size}` ? [sheet?.getAttribute("width"), sheet?.getAttribute("height")] : [];
  picture = got;
  const [left, top] = [plate.scrollLeft, plate.scrollTop];
  plate.innerHTML = got.svg;
  sheet = plate.querySelector("svg");
  if (!sheet) return;
  // One that was shown a little smaller to fit the plate stays so.
  if (shown[0] && shown[1]) sheet.setAttribute("width", shown[0]), sheet.setAttribute("height", shown[1]);
  [plate.scrollLeft, plate.scrollTop] = [left, top];
  const now = was && origin();
  if (pinned) {
    const m = view(pinned.plane)?.getScreenCTM();
    const [px, py] = paper(pinned.mm);
    const there = m && new DOMPoint(px, py).matrixTransform(m);
    if (there) plate.scrollBy(there.x - pinned.x, there.y - pinned.y);
    pinned = null;
  }
  if (was && now && Math.hypot(was.x - now.x, was.y - now.y) > 0.5) sheet.style.translate = `${was.x - now.x}px ${was.y - now.y}px`;
  const all = (/** @type {string} */ kind, /** @type {number} */ n) =>
    Array.from({ length: n }, (_, i) => [...(sheet?.querySelectorAll(`[data-${kind}="${i}"]`) ?? [])]);
  const p = got.places;
  groups = {
    parts: all("part", p.parts.length),
    points: all("point", p.points.length),
    rods: all("rod", p.rods.length),
    springs: all("spring", p.springs.length),
  };
  holds();
  lettered.clear();
  const rank = (/** @type {Name} */ n) => ["drive-note", "name", "note"].findIndex((c) => n.g.querySelector(`text.${c}`));
  names = got.views.map((/** @type {any} */ v) => {
    const covered = (/** @type {any} */ t) => {
      const b = t.getBBox();
      return [b.x, b.y, b.x + b.width, b.y + b.height];
    };
    const texts = [...(view(v.plane)?.querySelectorAll(".names text, .caption text") ?? [])];
    lettered.set(v.plane, texts.map(covered));
    const all = [...(view(v.plane)?.querySelectorAll(".names > .label") ?? [])];
    const placed = all.map((g) => ({ g, box: covered(g.querySelector("text")), by: [0, 0] }));
    return /** @type {Name[]} */ (placed).sort((a, b) => rank(a) - rank(b));
  });
  el("scale").textContent = got.scale >= 1 ? `${trim(got.scale)}:1` : `1:${trim(1 / got.scale)}`;
  shadows.forEach((s) => shadow(s, "shadow"));
  if (desk.pose) apply(desk.pose);
  light();
  board.overlay();
  desk.tell("painted");
}

/** Where the origin of the first plane is on the screen. */
function origin() {
  const m = view(picture.views[0]?.plane ?? 0)?.getScreenCTM();
  return m ? { x: m.e, y: m.f } : null;
}

/** @param {number} x */
const trim = (x) => String(Number(x.toPrecision(2)));

/** Wide invisible lines to take hold of, and the grips of drives made bright. */
function holds() {
  for (const [i, all] of groups.parts.entries()) {
    for (const g of all) {
      // What runs across a pin is the part's, and the pin is taken hold of.
      if (g.querySelector(".pass")) continue;
      const part = g.querySelector("g.part, g.block, g.wheel, g.eccentric, g.face");
      if (part && picture.parts[i]?.grip != null) part.classList.add("grip");
      for (const line of g.querySelectorAll("path.wide, circle.wide")) g.firstElementChild?.append(grip(line));
    }
  }
  for (const g of groups.rods.flat()) {
    const line = g.querySelector("path");
    if (line) g.append(grip(line));
  }
  for (const [i, all] of groups.points.entries()) {
    const [x, y] = paper(picture.places.points[i] ?? [0, 0]);
    for (const g of all) g.firstElementChild?.append(draw("circle", { class: "hold", cx: x, cy: y, r: 1.8 }));
  }
}

/** @param {Element} line */
function grip(line) {
  const wide = /** @type {Element} */ (line.cloneNode());
  wide.setAttribute("class", "hold");
  return wide;
}

/** Moves everything to where a pose has it. @param {any} pose */
function apply(pose) {
  if (!picture || !pose?.places || pose.version !== picture.version) return;
  const k = picture.scale;
  const p = pose.places;
  if (p.parts.length !== groups.parts.length || p.points.length !== groups.points.length) return;
  for (const [i, all] of groups.parts.entries()) {
    const [c, s, x, y] = p.parts[i];
    const m = `matrix(${c} ${-s} ${s} ${c} ${x * k} ${-y * k})`;
    for (const g of all) g.setAttribute("transform", m);
  }
  for (const [i, all] of groups.points.entries()) {
    const to = p.points[i];
    if (to) for (const g of all) g.setAttribute("transform", `translate(${to[0] * k} ${-to[1] * k})`);
  }
  for (const [i, all] of groups.rods.entries()) for (const g of all) lay(g, p.rods[i], k);
  for (const [i, all] of groups.springs.entries()) {
    const ends = p.springs[i];
    if (!ends) continue;
    const [a, b, angle, long] = run(ends, k);
    void b;
    for (const g of all) g.setAttribute("transform", `translate(${a[0]} ${a[1]}) rotate(${angle}) scale(${long} 1)`);
  }
  for (const all of names) {
    for (const it of all) {
      const was = place(picture.places, it.g.dataset);
      const now = place(p, it.g.dataset);
      if (!was || !now) continue;
      it.by = [(now[0] - was[0]) * k, (was[1] - now[1]) * k];
      it.g.setAttribute("transform", `translate(${it.by.join(" ")})`);
    }
    hush(all);
  }
  arrows(board, lettered, pose.arrows ?? []);
  sheet?.querySelectorAll(".bent").forEach((g) => g.remove());
  if (pose.stretched) shadow(pose.stretched, "bent");
}

/** Of names that a moving machine carries over one another the less telling ones wait until it is at rest. @param {Name[]} all */
function hush(all) {
  /** @type {{box: number[], moved: boolean}[]} */
  const said = [];
  for (const { g, box, by: [x, y] } of all) {
    const now = { box: [box[0] + x, box[1] + y, box[2] + x, box[3] + y], moved: Math.hypot(x, y) > 0.5 };
    const [a, b, c, d] = now.box;
    const over = said.some((o) => (o.moved || now.moved) && a < o.box[2] && o.box[0] < c && b < o.box[3] && o.box[1] < d);
    g.classList.toggle("hushed", over);
    if (!over) said.push(now);
  }
}

/** Where what a name goes with is; nothing goes with the paper. @param {any} p @param {DOMStringMap} by @returns {number[] | null} */
function place(p, by) {
  if (by.byPoint) return p.points[Number(by.byPoint)];
  if (by.byRod) {
    const ends = p.rods[Number(by.byRod)];
    return ends && [(ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2];
  }
  if (!by.byPart) return null;
  const [x, y] = (by.at ?? "0 0").split(" ").map(Number);
  const [c, s, dx, dy] = p.parts[Number(by.byPart)];
  return [c * x - s * y + dx, s * x + c * y + dy];
}

/** Both ends on paper, the direction from one to the other in degrees, how far. @param {number[][]} ends @param {number} k @returns {[number[], number[], number, number]} */
function run([p, q], k) {
  const [a, b] = [[p[0] * k, -p[1] * k], [q[0] * k, -q[1] * k]];
  const d = [b[0] - a[0], b[1] - a[1]];
  return [a, b, (Math.atan2(d[1], d[0]) * 180) / Math.PI, Math.hypot(d[0], d[1])];
}

/** Lays a rod between its ends. @param {Element} g @param {number[][] | null} ends @param {number} k */
function lay(g, ends, k) {
  if (!ends) return;
  const [a, b, angle] = run(ends, k);
  const line = `M${a[0]} ${a[1]}L${b[0]} ${b[1]}`;
  let end = 0;
  for (const inner of g.children) {
    if (inner.tagName === "path") inner.setAttribute("d", line);
    else if (inner.tagName === "g") {
      const [x, y] = end ? b : a;
      inner.setAttribute("transform", `translate(${x} ${y}) rotate(${end ? angle + 180 : angle})`);
      end++;
    }
  }
}

/** Draws another pose thin behind (or, bent, before) the machine. @param {any} places @param {string} kind */
function shadow(places, kind) {
  if (!sheet || places.parts.length !== groups.parts.length) return;
  const k = picture.scale;
  for (const v of sheet.querySelectorAll("g.view")) {
    const all = draw("g", { class: kind, "aria-hidden": "true" });
    for (const g of v.querySelectorAll(":scope > [data-part], :scope > [data-rod]")) {
      const copy = /** @type {SVGElement} */ (g.cloneNode(true));
      copy.querySelectorAll(".hold, title").forEach((e) => e.remove());
      copy.querySelectorAll("[id]").forEach((e) => e.removeAttribute("id"));
      copy.removeAttribute("id");
      if (copy.dataset.part) {
        const [c, s, x, y] = places.parts[Number(copy.dataset.part)];
        copy.setAttribute("transform", `matrix(${c} ${-s} ${s} ${c} ${x * k} ${-y * k})`);
      } else lay(copy, places.rods[Number(copy.dataset.rod)], k);
      delete copy.dataset.part;
      delete copy.dataset.rod;
      all.append(copy);
    }
    if (kind === "bent") v.append(all);
    else v.prepend(all);
  }
}

/** Lights what is picked; of what has no place of its own, what it speaks of. */
function light() {
  sheet?.querySelectorAll(".lit").forEach((g) => g.classList.remove("lit"));
  if (!desk.picked) return;
  const { kind, name } = desk.picked;
  const classes = { point: ".pin", part: ".part, .block, .wheel, .face", shaft: ".part, .eccentric", rod: ".rod", drive: ".drive-of" }[kind] ?? `.${kind}`;
  const lit = (/** @type {string} */ which, /** @type {string} */ called) => {
    for (const g of sheet?.querySelectorAll(which) ?? []) if (/** @type {SVGElement} */ (g).dataset.name === called) g.classList.add("lit");
  };
  lit(classes, name);
  if (["point", "part", "rod"].includes(kind)) return;
  const seen = new Set([name]);
  const spoken = (/** @type {string} */ head) => {
    for (const value of desk.section(head).values()) {
      for (const [, word] of value.matchAll(/"([\w-]+)"/g)) {
        if (seen.has(word)) continue;
        seen.add(word);
        lit(".pin, .part, .rod, .face, .slot, .slide", word);
        if (desk.state.readings.some((r) => r.name === word)) spoken(`reading.${word}`);
      }
    }
  };
  spoken(`${kind}.${name}`);
}

// --- the hand -------------------------------------------------------------------------------------------------------------------

/** What is held: part, point or rod, and the plane in which the pointer moves. @type {any} */
let hand = null;

/** What lies under the pointer. @param {Event} e @returns {any} */
export function under(e) {
  const g = /** @type {Element} */ (e.target).closest?.("[data-point], [data-part], [data-rod]");
  const v = /** @type {Element} */ (e.target).closest?.("g.view");
  if (!g || !v || !picture) return null;
  const by = /** @type {SVGGraphicsElement} */ (g).dataset;
  const plane = Number(/** @type {SVGElement} */ (v).dataset.view);
  if (by.point) return { kind: "point", name: picture.points[Number(by.point)].name, index: Number(by.point), plane };
  if (by.rod) return { kind: "rod", name: picture.rods[Number(by.rod)].name, index: Number(by.rod), plane };
  return { kind: "part", name: picture.parts[Number(by.part)].name, index: Number(by.part), plane, group: g };
}

/** @param {PointerEvent} e */
function hold(e) {
  const it = under(e);
  if (!it) return null;
  const plane = picture.views.find((/** @type {any} */ v) => v.plane === it.plane)?.name;
  if (it.kind === "point") return { plane: it.plane, grab: { point: it.name, plane } };
  if (it.kind === "rod") {
    const [a, b] = desk.pose?.places?.rods[it.index] ?? picture.places.rods[it.index] ?? [[0, 0], [1, 0]];
    const [x, y] = at(e, it.plane);
    const d = [b[0] - a[0], b[1] - a[1]];
    const share = ((x - a[0]) * d[0] + (y - a[1]) * d[1]) / (d[0] * d[0] + d[1] * d[1] || 1);
    return { plane: it.plane, grab: { rod: it.name, share: Math.min(1, Math.max(0, share)), plane } };
  }
  return { plane: it.plane, grab: { body: it.name, grabbed: inside(e, it.group), plane } };
}

plate.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => {
  if (board.tool !== "move" || e.button > 0) return;
  hand = hold(e);
  if (!hand) {
    desk.pick(null);
    // A mouse on the empty board shifts what is larger than the plate; a finger does so by itself.
    if (e.pointerType === "mouse") shifted = [e.clientX + plate.scrollLeft, e.clientY + plate.scrollTop];
    return;
  }
  e.preventDefault();
  plate.focus({ preventScroll: true });
  plate.setPointerCapture(e.pointerId);
  plate.classList.add("held");
  const it = under(e);
  hand.it = { kind: it.kind, name: it.name };
  hand.from = [e.clientX, e.clientY];
  stop();
});
/** Where the board is held to be shifted. @type {number[] | null} */
let shifted = null;
plate.addEventListener("wheel", (/** @type {WheelEvent} */ e) => {
  if (!e.ctrlKey) return;
  e.preventDefault();
  zoom(Math.exp(-Math.sign(e.deltaY) * Math.min(0.3, Math.abs(e.deltaY) / 300)), e);
}, { passive: false });
plate.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => {
  if (shifted && e.buttons & 1) plate.scrollTo(shifted[0] - e.clientX, shifted[1] - e.clientY);
  else shifted = null;
  if (!hand || (hand.it && Math.hypot(e.clientX - hand.from[0], e.clientY - hand.from[1]) < 3)) return;
  // A pull moves the machine; a touch without one picks what is touched.
  hand.it = null;
  desk.mover.want({ ...hand.grab, to: at(e, hand.plane), values: desk.mover.next?.values ?? { ...desk.values } });
});
for (const kind of ["pointerup", "pointercancel", "lostpointercapture"]) {
  plate.addEventListener(kind, () => {
    if (!hand) return;
    if (hand.it && kind === "pointerup") desk.pick(hand.it);
    hand = null;
    plate.classList.remove("held");
    desk.settled();
  });
}
// A finger on a part moves the machine, elsewhere it scrolls the board.
plate.addEventListener("touchstart", (/** @type {TouchEvent} */ e) => {
  if (board.tool !== "move" || under(e)) e.preventDefault();
}, { passive: false });

// --- sight ----------------------------------------------------------------------------------------------------------------------

/** What stays under the pointer, or in the middle, while the picture is made larger: a place of a plane, and where it is in the window. @type {{plane: number, mm: number[], x: number, y: number} | null} */
let pinned = null;

/** @param {number} by @param {{clientX: number, clientY: number}} [about] */
function zoom(by, about) {
  if (!picture) return;
  const box = plate.getBoundingClientRect();
  const [x, y] = about ? [about.clientX, about.clientY] : [box.x + box.width / 2, box.y + box.height / 2];
  const plane = picture.views[0]?.plane ?? 0;
  pinned = { plane, mm: at({ clientX: x, clientY: y }, plane), x, y };
  const old = picture.scale;
  scale = Math.min(1e3, Math.max(1e-4, old * by));
  paint(true);
}
const sights = {
  larger: () => zoom(1.35),
  smaller: () => zoom(1 / 1.35),
  fit: () => {
    scale = null;
    paint(true);
  },
  names: () => {
    named = !named;
    el("names").setAttribute("aria-pressed", String(named));
    paint();
  },
  ghost: () => {
    if (shadows.length) {
      shadows = [];
      sheet?.querySelectorAll(".shadow").forEach((g) => g.remove());
    } else if (desk.pose) {
      shadows.push(desk.pose.places);
      shadow(desk.pose.places, "shadow");
    }
    el("ghost").setAttribute("aria-pressed", String(shadows.length > 0));
  },
  path: () => {
    const name = desk.picked?.kind === "point" ? desk.picked.name : null;
    if (name && !paths.includes(name)) paths.push(name);
    else if (name) paths = paths.filter((p) => p !== name);
    else if (paths.length) paths = [];
    else return say("Pick a point first, then its path is drawn");
    el("path").setAttribute("aria-pressed", String(paths.length > 0));
    paint();
  },
  drawn: () => {
    stop();
    desk.values = {};
    desk.put({});
  },
};
for (const [id, act] of Object.entries(sights)) el(id).addEventListener("click", act);
el("names").setAttribute("aria-pressed", String(named));
/** Keys of the board. @type {Record<string, () => void>} */
export const keys = { "+": sights.larger, "=": sights.larger, "-": sights.smaller, 0: sights.fit, n: sights.names, k: sights.ghost, t: sights.path, Home: sights.drawn };

// What is turned by its grip keeps its names in place when it comes to rest.
desk.on("pose", apply);
desk.on("settled", () => {
  if (!hand && !runs() && !desk.mover.busy) paint();
});
desk.on("trouble", () => {
  // A link to a place that cannot be leads to the machine as drawn.
  if (!desk.pose && desk.state.good && Object.keys(desk.values).length) {
    desk.values = {};
    desk.put({});
  }
});
desk.on("picked", light);
desk.on("state", (changed) => {
  if (!changed) return;
  shadows = [];
  plate.classList.toggle("stale", !desk.state.good && groups.parts.length > 0);
  const known = desk.state.text;
  paths = paths.filter((p) => known.includes(p));
  if (desk.state.good || !picture) paint();
});
let size = [plate.clientWidth, plate.clientHeight];
const resized = later(200, () => {
  const now = [plate.clientWidth, plate.clientHeight];
  // One below the other, views make the plate as tall as they are.
  if (now[0] !== size[0] || (!small.matches && now[1] !== size[1])) paint();
  size = now;
});
new ResizeObserver(resized).observe(plate);
