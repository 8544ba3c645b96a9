// @ts-check
/** Drives, settings, readings and their curves. */

import { play, speed, stop } from "./board.js";
import { desk } from "./desk.js";
import { Latest, draw, el, figure, get, later, make, room, words, work } from "./wire.js";

/** @typedef {import("./desk.js").Knob} Knob */

/** @type {Map<string, {slide: any, field: any, run: any, whole: boolean | undefined}>} */
const knobs = new Map();
let made = "";

/** Sliders and fields for every drive and setting; made anew only when the machine has others. */
function build() {
  const { drives, settings } = desk.state;
  const now = JSON.stringify([drives, settings]);
  if (now === made) return;
  made = now;
  knobs.clear();
  el("drives").replaceChildren(...drives.map((k) => knob(k, true)));
  el("drives").hidden = drives.length === 0;
  el("settings").querySelector("div").replaceChildren(...settings.map((k) => knob(k, false)));
  el("settings").hidden = settings.length === 0;
  const over = el("over");
  const kept = over.value;
  over.replaceChildren(...drives.map((d) => make("option", {}, d.name)));
  if (drives.some((d) => d.name === kept)) over.value = kept;
}

/** @param {Knob} k @param {boolean} drive */
function knob(k, drive) {
  const whole = k.unit === "deg" ? 360 : k.unit === "turn" ? 1 : 2 * Math.PI;
  const [low, high] = k.whole_turn ? [k.drawn, k.drawn + whole] : [k.low ?? 0, k.high ?? 0];
  const ranged = high > low;
  const step = k.holes ? 1 : k.step;
  const id = `knob-${k.name}`;
  const put = (/** @type {number|string} */ v) => {
    stop();
    desk.put({ [k.name]: v });
  };
  const slide = !ranged ? null : make("input", {
    type: "range", min: low, max: high, step: k.holes ? 1 : "any", value: k.drawn, "aria-label": `${k.name}, ${k.unit}`,
    oninput: () => put(Number(slide.value)),
    // Arrow keys go by the step a hand does.
    onkeydown: (/** @type {KeyboardEvent} */ e) => {
      const by = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 5, PageDown: -5 }[e.key];
      if (!by || k.holes) return;
      e.preventDefault();
      const one = e.shiftKey ? (high - low) / 1000 : step || (high - low) / 100;
      put(Math.min(high, Math.max(low, Number(slide.value) + by * one)));
    },
  });
  const field = make("input", {
    id, type: "text", inputmode: "text", autocomplete: "off", size: 9, title: "Any unit: 35 deg, 1 1/4 in, half turn",
    oninput: () => (field.dataset.typed = "1"),
    onchange: () => (delete field.dataset.typed, field.value.trim()) && put(/^[-+\d.,\s]+$/.test(field.value) ? `${field.value} ${k.unit === "1" ? "" : k.unit}`.trim() : field.value),
    onkeydown: (/** @type {KeyboardEvent} */ e) => e.key === "Escape" && (delete field.dataset.typed, show()),
  });
  const nudge = (/** @type {number} */ by) => make("button", { "aria-label": `${k.name} ${by > 0 ? "more" : "less"}`, onclick: () => put(Number(desk.pose?.values?.[k.name] ?? k.drawn) + by * (step || 1)) }, by > 0 ? "+" : "−");
  let run = null;
  if (drive && (k.whole_turn || ranged)) {
    const full = k.whole_turn ? whole : high - low;
    const pace = make("input", { type: "range", min: 0.05, max: 1.5, step: 0.05, value: 0.25, class: "pace", "aria-label": `Speed of ${k.name}`, title: "Speed", oninput: () => speed(full * Number(pace.value)) });
    run = make("button", { class: "run", "aria-pressed": "false", "aria-label": `Let ${k.name} run`, title: "Let it run (Space)", onclick: () => play(k.name, full * Number(pace.value)) }, "▶");
    run.pace = pace;
  }
  knobs.set(k.name, { slide, field, run, whole: k.whole_turn });
  return make("div", { class: "knob" }, make("label", { for: id }, k.name), ...(slide ? [slide] : [nudge(-1), nudge(1)]), field, ...(run ? [run, run.pace] : []));
}

/** Shows where everything stands. */
function show() {
  for (const [name, k] of knobs) {
    const value = desk.pose?.values?.[name];
    if (value == null) continue;
    const [low, high] = k.slide ? [Number(k.slide.min), Number(k.slide.max)] : [0, 0];
    // Whichever turn a wheel is in, the slider shows where on the dial it stands.
    const shown = k.whole && (value < low || value > high) ? low + ((((value - low) % (high - low)) + (high - low)) % (high - low)) : value;
    if (k.slide && document.activeElement !== k.slide) k.slide.value = shown;
    else if (k.slide && Number(k.slide.value) !== shown && desk.mover.next === undefined) k.slide.value = shown;
    k.slide?.setAttribute("aria-valuetext", desk.words[name] ?? String(value));
    // What is being typed is left alone.
    if (document.activeElement !== k.field || !k.field.dataset.typed) k.field.value = desk.words[name] ?? value;
  }
  const list = el("readings").querySelector("dl");
  const readings = desk.pose?.readings ?? [];
  el("readings").hidden = readings.length === 0 && desk.state.drives.length === 0;
  el("readings").querySelector("p").hidden = readings.length > 0;
  if (list.childElementCount !== readings.length) {
    list.replaceChildren(...readings.map((/** @type {any} */ r) => make("div", {}, make("dt", {}, make("button", { class: "plain", onclick: () => choose(r.reading.name) }, r.reading.name)), make("dd", {}), make("dd", { class: "band" }))));
  }
  readings.forEach((/** @type {any} */ r, /** @type {number} */ i) => {
    const row = list.children[i];
    row.querySelector("button").textContent = r.reading.name;
    row.querySelector("dd").textContent = r.words;
  });
  askBands();
  mark();
}

/** From where to where the readings may be, with play and tolerance; six times a second while the machine moves, so that poses come first. */
const bands = new Latest(
  (/** @type {URLSearchParams} */ q) => (desk.state.good && desk.state.readings.length ? get("bands", q) : Promise.resolve({ bands: [] })),
  (got) => told(got.bands),
  () => told([]),
);
let bandsAsked = 0;
let bandsDue = 0;
function askBands() {
  clearTimeout(bandsDue);
  const wait = bandsAsked + 160 - performance.now();
  if (wait > 0) bandsDue = window.setTimeout(askBands, wait);
  else {
    bandsAsked = performance.now();
    bands.want(desk.query());
  }
}
/** @param {(string | null)[]} words */
function told(words) {
  el("readings").querySelectorAll(".band").forEach((/** @type {Element} */ e, /** @type {number} */ i) => (e.textContent = words[i] ?? ""));
}

// --- curves ---------------------------------------------------------------------------------------------------------------------

/** What is drawn: its fields, each with the drive across and, on a map, the one upwards. @type {{fields: any[], marks: any[]} | null} */
let curve = null;
let asked = "";

/** @param {string} reading */
function choose(reading) {
  el("of").value = el("of").value === reading ? "" : reading;
  curves();
  const r = desk.state.readings.find((x) => x.name === reading);
  if (r) desk.pick({ kind: "reading", name: reading });
}

/** Fetches the curves when what they depend on has changed. */
async function curves() {
  const { drives, readings, good } = desk.state;
  const drive = el("over").value || drives[0]?.name;
  options("by", "no other drive", drives.filter((d) => d.name !== drive));
  options("of", "all readings", readings);
  // Over the drive: readings while it moves, or what it needs and what holds it; over two drives a map.
  const study = desk.view === "load" ? "load" : el("by").value ? "cycle" : "motion";
  el("curves").hidden = !drives.length || (study !== "load" && !readings.length) || !["motion", "load"].includes(desk.view);
  el("of").parentElement.hidden = study === "load";
  el("by").parentElement.hidden = study === "load" || drives.length < 2;
  if (!good || el("curves").hidden) return;
  const q = desk.query({ drive, reading: study === "load" ? "" : el("of").value, by: study === "cycle" ? el("by").value : "", ...(study === "load" ? { step: fine(drive) } : {}), look: "board", room: room(el("plot")) });
  // The drives themselves run through the curve: where they stand does not matter.
  q.delete(`at.${drive}`);
  if (study === "cycle") q.delete(`at.${el("by").value}`);
  const key = `${desk.state.version} ${study} ${q}`;
  if (key === asked) return;
  asked = key;
  try {
    const got = await work({ load: "Curves under load", cycle: "Map", motion: "Curves" }[study] ?? study, study, q);
    if (asked !== key) return;
    const fields = got.maps ?? (got.fields ?? []).map((/** @type {any} */ f) => ({ ...f, drive }));
    figure(el("plot"), got.plot ?? got.maps.map((/** @type {any} */ m) => m.plot).join(""));
    words(el("table").querySelector("pre"), got.text);
    el("table").hidden = study === "load";
    const all = el("plot").querySelectorAll("svg");
    const marks = fields.map((/** @type {any} */ f, /** @type {number} */ i) => {
      const g = draw("g", { class: "here" });
      g.append(draw("path"), draw("circle", { r: 1.3 }));
      all[got.maps ? i : 0]?.append(g);
      return g;
    });
    curve = { fields, marks };
    mark();
  } catch (t) {
    if (!(/** @type {any} */ (t).status)) asked = "";
    curve = null;
    el("plot").replaceChildren(make("p", { class: "quiet-words" }, /** @type {any} */ (t).sentence ?? ""));
  }
}

/** Steps of a curve under load, fine enough that it looks like one. @param {string} name */
function fine(name) {
  const k = desk.state.drives.find((d) => d.name === name);
  const span = k?.whole_turn ? (k.unit === "deg" ? 360 : k.unit === "turn" ? 1 : 2 * Math.PI) : (k?.high ?? 0) - (k?.low ?? 0);
  return k && span > 0 ? `${span / 240} ${k.unit}` : "";
}

/** Fills a list, and keeps what is chosen. @param {string} id @param {string} none @param {{name: string}[]} all */
function options(id, none, all) {
  const list = el(id);
  const kept = list.value;
  list.replaceChildren(make("option", { value: "" }, none), ...all.map((x) => make("option", {}, x.name)));
  list.value = all.some((x) => x.name === kept) ? kept : "";
}

/** Puts the marks on the curves where the machine stands. */
function mark() {
  if (!curve || !desk.pose) return;
  const values = desk.pose.values ?? {};
  curve.fields.forEach((/** @type {any} */ f, /** @type {number} */ i) => {
    const [x, y, w, h] = f.at;
    const share = (/** @type {number} */ v, /** @type {number[]} */ [a, b]) => (v - a) / (b - a);
    const s = share(values[f.drive], f.across);
    const reading = desk.pose.readings?.find((/** @type {any} */ r) => r.reading.name === f.reading);
    const up = f.by ? values[f.by] : reading?.value;
    const u = up == null ? NaN : share(up, f.up);
    const [line, dot] = curve?.marks[i].children;
    const on = s >= -1e-6 && s <= 1 + 1e-6;
    curve?.marks[i].classList.toggle("off", !on);
    if (!on) return;
    const seen = u >= -0.02 && u <= 1.02;
    line.setAttribute("d", `M${x + s * w} ${y}v${h}${f.by && seen ? `M${x} ${y + (1 - u) * h}h${w}` : ""}`);
    dot.setAttribute("visibility", seen ? "visible" : "hidden");
    if (seen) {
      dot.setAttribute("cx", x + s * w);
      dot.setAttribute("cy", y + (1 - u) * h);
    }
  });
}

let pulling = false;
/** Where on which curve the hand is. @param {PointerEvent} e */
function pull(e) {
  if (!curve?.fields.length) return;
  const all = [...el("plot").querySelectorAll("svg")];
  const svg = held ?? all.find((s) => e.clientY <= s.getBoundingClientRect().bottom) ?? all[0];
  held = svg;
  const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM().inverse());
  const here = all.length > 1 ? [curve.fields[all.indexOf(svg)]] : curve.fields;
  const f = here.find((f) => p.x >= f.at[0] - 2 && p.x <= f.at[0] + f.at[2] + 2) ?? here[0];
  /** @type {Record<string, number>} */
  const to = {};
  const put = (/** @type {string} */ drive, /** @type {number} */ share, /** @type {number[]} */ [low, high]) => {
    const k = desk.state.drives.find((d) => d.name === drive);
    let v = low + Math.min(1, Math.max(0, share)) * (high - low);
    if (k && !k.whole_turn && k.low != null && k.high != null) v = Math.min(k.high, Math.max(k.low, v));
    to[drive] = v;
  };
  put(f.drive, (p.x - f.at[0]) / f.at[2], f.across);
  if (f.by) put(f.by, 1 - (p.y - f.at[1]) / f.at[3], f.up);
  stop();
  desk.put(to);
}
/** The curve that is held. @type {any} */
let held = null;
const plot = el("plot");
plot.addEventListener("pointerdown", (/** @type {PointerEvent} */ e) => {
  if (e.button > 0) return;
  held = null;
  pulling = true;
  plot.setPointerCapture(e.pointerId);
  pull(e);
});
plot.addEventListener("pointermove", (/** @type {PointerEvent} */ e) => pulling && pull(e));
for (const kind of ["pointerup", "pointercancel"]) plot.addEventListener(kind, () => (pulling = false));

for (const id of ["over", "by", "of"]) el(id).addEventListener("change", curves);
desk.on("state", () => {
  build();
  if (desk.state.good) curves();
});
desk.on("pose", show);
desk.on("settled", curves);
desk.on("trouble", show);
desk.on("view", curves);
new ResizeObserver(later(300, curves)).observe(el("plot"));
desk.on("turning", (drive) => {
  for (const [name, k] of knobs) {
    if (!k.run) continue;
    k.run.textContent = name === drive ? "❚❚" : "▶";
    k.run.setAttribute("aria-pressed", String(name === drive));
  }
});
/** Starts or stops the first drive that goes round. */
export function toggleRun() {
  const first = desk.state.drives.find((d) => d.whole_turn) ?? desk.state.drives[0];
  if (first) knobs.get(first.name)?.run?.click();
}
