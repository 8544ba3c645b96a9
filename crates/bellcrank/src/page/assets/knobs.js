// @ts-check
/** Drives, settings, readings. */

import { choose } from "./curves.js";
import { desk } from "./desk.js";
import { onDial, turnOf } from "./dials.js";
import { play, speed, stop } from "./play.js";
import { Latest, el, get, make } from "./wire.js";

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
}

/** @param {Knob} k @param {boolean} drive */
function knob(k, drive) {
  const whole = turnOf(k.unit);
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
    const way = k.whole_turn ? "a turn" : "a way";
    const paced = () => {
      const words = `${way} in ${(1 / Number(pace.value)).toPrecision(2)} s`;
      pace.setAttribute("aria-valuetext", words);
      pace.title = words;
    };
    const pace = make("input", { type: "range", min: 0.05, max: 1.5, step: 0.05, value: 0.25, class: "pace", "aria-label": `Speed of ${k.name}`, oninput: () => {
      paced();
      speed(full * Number(pace.value));
    } });
    paced();
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
    const shown = k.whole ? onDial(value, low, high - low) : value;
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

desk.on("state", build);
desk.on("pose", show);
desk.on("trouble", show);
desk.on("turning", (drive) => {
  for (const [name, k] of knobs) {
    if (!k.run) continue;
    k.run.textContent = name === drive ? "❚❚" : "▶";
    k.run.setAttribute("aria-pressed", String(name === drive));
  }
  // A band is that of the pose it was asked for; a machine that runs is past it when the answer is there.
  el("readings").classList.toggle("runs", drive != null);
});
/** Starts or stops the first drive that goes round. */
export function toggleRun() {
  const first = desk.state.drives.find((d) => d.whole_turn) ?? desk.state.drives[0];
  if (first) knobs.get(first.name)?.run?.click();
}
