// @ts-check
/** Plots marked where the machine stands. They are taken hold of by pointer or keys, and the machine goes there. */

import { board } from "./board.js";
import { desk } from "./desk.js";
import { onDial, turnOf } from "./dials.js";
import { stop } from "./play.js";
import { draw, figure, make } from "./wire.js";

/**
 * One plot: where its fields lie, the drive across (values in the unit printed there) and, on a map, the one upwards. On the closing curve
 * `places` are the drive across, the least and where over the other drive that is; on the plot of a cam its part tells the turn.
 * @typedef {{at: number[], across: number[], up: number[], reading: string}} Field
 * @typedef {{what: string, plot: string, fields: Field[], drive: string, by?: string, up?: number[], least_over?: string, cam?: string, places?: number[][], part?: string, drawn?: number, sense?: number}} Shown
 */

/** How far along a way a value is. @param {number} v @param {number[]} ends */
const share = (v, [a, b]) => (v - a) / (b - a);
/** Where a drive that goes round stands on the axis of a field, which may hold several of its turns. @param {number} v @param {number[]} across @param {string} unit */
const round = (v, [low, high], unit) => onDial(v, low, Math.max(turnOf(unit), high - low));
/** @param {string} name */
const knob = (name) => desk.state.drives.find((d) => d.name === name);
/** What lies straight between two places of a list sorted by its first number. @param {number[][]} places @param {number} x @returns {number[] | null} */
function between(places, x) {
  const i = places.findIndex((p) => p[0] >= x);
  if (i < 0) return x - places[places.length - 1]?.[0] < 1e-6 ? places[places.length - 1] : null;
  if (i === 0) return places[0][0] - x < 1e-6 ? places[0] : null;
  const [a, b] = [places[i - 1], places[i]];
  const t = share(x, [a[0], b[0]]);
  // A jump of the place is no way between.
  const jumps = Math.abs(b[2] - a[2]) > 45;
  return [x, a[1] + t * (b[1] - a[1]), jumps ? (t < 0.5 ? a : b)[2] : a[2] + t * (b[2] - a[2])];
}

export class Plots {
  /** @param {HTMLElement} box */
  constructor(box) {
    this.box = box;
    /** @type {{it: Shown, frame: HTMLElement, svg: SVGSVGElement, marks: SVGElement[]}[]} */
    this.all = [];
    desk.on("pose", () => this.mark());
  }

  /** @param {Shown[]} list */
  show(list) {
    const focused = this.all.findIndex((p) => p.frame === document.activeElement);
    this.all = list.filter((it) => it.plot).map((it) => {
      const still = it.what === "cam" || it.what === "run";
      const frame = make("div", still ? { class: "figure still", role: "group" } : { class: "figure", role: "group", tabindex: 0, "aria-keyshortcuts": it.by ? "ArrowLeft ArrowRight ArrowUp ArrowDown" : "ArrowLeft ArrowRight" });
      figure(frame, it.plot);
      const svg = frame.querySelector("svg");
      const title = svg.querySelector("title")?.textContent ?? it.what;
      frame.setAttribute("aria-label", still ? title : `${title}. Arrow keys move ${it.drive}${it.by ? ` and ${it.by}` : ""}`);
      const panels = svg.querySelectorAll("g.panel");
      const marks = it.fields.map((f, i) => {
        const g = draw("g", { class: "here off", transform: `translate(${-f.at[0]} ${-f.at[1]})` });
        g.append(draw("path"), draw("circle", { r: 1.3 }));
        // Over the curves and under the words, which stay readable.
        panels[i].insertBefore(g, panels[i].querySelector(":scope > .names"));
        return g;
      });
      const shown = { it, frame, svg, marks };
      if (!still) this.hold(shown);
      return shown;
    });
    this.box.replaceChildren(...this.all.map((p) => p.frame));
    this.all[focused]?.frame.focus({ preventScroll: true });
    this.mark();
  }

  /** @param {string} words */
  say(words) {
    this.all = [];
    this.box.replaceChildren(...(words ? [make("p", { class: "quiet-words" }, words)] : []));
  }

  /** Where across a plot the machine stands, and how high on one of its fields. @param {Shown} it @param {Field} f @returns {[number, number]} */
  stands(it, f) {
    const values = desk.pose.values ?? {};
    // Time has no place on the board.
    if (it.what === "run") return [NaN, NaN];
    if (it.part) {
      const index = board.picture?.parts.findIndex((/** @type {any} */ p) => p.name === it.part) ?? -1;
      const [c, s] = desk.pose.places?.parts[index] ?? [NaN, NaN];
      return [onDial((it.drawn ?? 0) + ((it.sense ?? 1) * Math.atan2(s, c) * 180) / Math.PI, 0, 360), NaN];
    }
    const k = knob(it.drive);
    const x = k?.whole_turn ? round(values[it.drive], f.across, k.unit) : values[it.drive];
    if (it.by) return [x, share(values[it.by], it.up ?? f.up)];
    if (it.places) return [x, share(between(it.places, x)?.[1] ?? NaN, f.up)];
    const reading = desk.pose.readings?.find((/** @type {any} */ r) => r.reading.name === f.reading);
    return [x, reading?.value == null ? NaN : share(reading.value, f.up)];
  }

  /** Puts the marks where the machine stands. */
  mark() {
    if (!desk.pose || !this.box.offsetParent) return;
    for (const { it, marks } of this.all) {
      it.fields.forEach((f, i) => {
        const [left, top, w, h] = f.at;
        const [value, u] = this.stands(it, f);
        const s = share(value, f.across);
        const [line, dot] = marks[i].children;
        const on = s >= -1e-6 && s <= 1 + 1e-6;
        marks[i].classList.toggle("off", !on);
        if (!on) return;
        const seen = u >= -0.02 && u <= 1.02;
        line.setAttribute("d", `M${left + s * w} ${top}v${h}${it.by && seen ? `M${left} ${top + (1 - u) * h}h${w}` : ""}`);
        dot.setAttribute("visibility", seen ? "visible" : "hidden");
        if (!seen) return;
        dot.setAttribute("cx", String(left + s * w));
        dot.setAttribute("cy", String(top + (1 - u) * h));
      });
    }
  }

  /** Where a value of a drive may be at all. @param {string} name @param {number} v */
  within(name, v) {
    const k = knob(name);
    return k && !k.whole_turn && k.low != null && k.high != null ? Math.min(k.high, Math.max(k.low, v)) : v;
  }

  /** Puts the machine to a place of a plot. @param {Shown} it @param {number} x @param {number} [y] of the drive upwards */
  go(it, x, y) {
    /** @type {Record<string, number>} */
    const to = { [it.drive]: this.within(it.drive, x) };
    if (it.by && y !== undefined) to[it.by] = this.within(it.by, y);
    // On the closing curve the other drive stands where the gap is least.
    const least = it.places && it.least_over ? between(it.places, to[it.drive]) : null;
    if (least && it.least_over) to[it.least_over] = this.within(it.least_over, least[2]);
    stop();
    desk.put(to);
  }

  /** @param {{it: Shown, frame: HTMLElement, svg: SVGSVGElement}} shown */
  hold({ it, frame, svg }) {
    /** The field that is held. @type {Field | null} */
    let held = null;
    const pull = (/** @type {PointerEvent} */ e) => {
      const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(svg.getScreenCTM()?.inverse());
      const near = (/** @type {Field} */ f) => Math.hypot(Math.max(f.at[0] - p.x, 0, p.x - f.at[0] - f.at[2]), Math.max(f.at[1] - p.y, 0, p.y - f.at[1] - f.at[3]));
      held ??= it.fields.reduce((a, b) => (near(b) < near(a) ? b : a));
      const to = (/** @type {number} */ s, /** @type {number[]} */ [low, high]) => low + Math.min(1, Math.max(0, s)) * (high - low);
      const [left, top, w, h] = held.at;
      this.go(it, to((p.x - left) / w, held.across), it.by ? to(1 - (p.y - top) / h, it.up ?? held.up) : undefined);
    };
    svg.addEventListener("pointerdown", (e) => {
      if (e.button > 0 || !it.fields.length) return;
      held = null;
      svg.setPointerCapture(e.pointerId);
      frame.classList.add("held");
      pull(e);
    });
    svg.addEventListener("pointermove", (e) => frame.classList.contains("held") && pull(e));
    for (const kind of ["pointerup", "pointercancel"]) svg.addEventListener(kind, () => frame.classList.remove("held"));
    frame.addEventListener("keydown", (e) => {
      const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowDown: [0, -1], ArrowUp: [0, 1] }[e.key];
      const f = it.fields[0];
      if (!way || !f || !desk.pose || (way[1] && !it.by)) return;
      e.preventDefault();
      const step = e.shiftKey ? 0.002 : 0.02;
      // Keys that come faster than poses go on from where the machine is sent.
      const sent = (/** @type {string} */ name) => (desk.mover.busy && typeof desk.values[name] === "number" ? Number(desk.values[name]) : desk.pose.values[name]);
      const k = knob(it.drive);
      const x = k?.whole_turn ? round(sent(it.drive), f.across, k.unit) : sent(it.drive);
      const up = it.up ?? f.up;
      const y = it.by ? sent(it.by) + way[1] * step * (up[1] - up[0]) : undefined;
      this.go(it, x + way[0] * step * (f.across[1] - f.across[0]), y);
    });
  }
}
