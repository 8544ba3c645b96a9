// @ts-check
/** What the machine has, and how changes of its file are written: names, lengths, values. */

import { board } from "./board.js";
import { desk } from "./desk.js";

/** @typedef {{name: string, plane: number, drawn: number[], fixed?: boolean}} Point */

/** @returns {Point[]} */
export const points = () => board.picture?.points ?? [];
/** @returns {any[]} */
export const parts = () => board.picture?.parts ?? [];
export const scale = () => board.picture?.scale ?? 1;

/** A name that the file does not have yet. @param {string} stem @param {Set<string>} [also] */
export function fresh(stem, also = new Set()) {
  // What stands in comments and in words about the machine takes no names.
  const known = desk.state.text.replace(/^\s*(name|note)\s*=.*$|#.*$/gm, "");
  const taken = (/** @type {string} */ n) => also.has(n) || new RegExp(`(^|[\\s\\["'.])${n}(["'\\]\\s=.]|$)`, "m").test(known);
  if (stem === "point") {
    for (let i = 0; i < 26; i++) {
      const letter = String.fromCharCode(97 + i);
      if (!taken(letter)) return letter;
    }
    stem = "p";
  }
  for (let n = 1; ; n++) {
    const name = n === 1 && !["p", "rod", "bar"].includes(stem) ? stem : `${stem}-${n}`;
    if (!taken(name)) return name;
  }
}

/** Mm in the unit of the machine, in which bare lengths are. */
export const per = () => /** @type {Record<string, number>} */ ({ cm: 10, m: 1000, "µm": 0.001, in: 25.4, ft: 304.8, thou: 0.0254 })[desk.state.unit] ?? 1;
/** Decimals worth typing in it. */
const decimals = () => Math.max(0, Math.round(Math.log10(per())) + (scale() > 2 ? 2 : 1));
/** A length as it is typed, bare. @param {number} mm */
export const length = (mm) => {
  const exact = mm / per();
  // In inches what lies on a sixty-fourth stays there.
  return String(per() === 25.4 && Math.abs(exact * 64 - Math.round(exact * 64)) < 1e-6 ? Math.round(exact * 64) / 64 : Number(exact.toFixed(decimals())));
};
/** To what would be typed. @param {number} mm */
export const tidy = (mm) => Number(length(mm)) * per();
/** An angle as it is typed. @param {number} deg */
export const degrees = (deg) => Number(deg.toFixed(2));
export const text = (/** @type {string} */ s) => JSON.stringify(s);
export const set = (/** @type {string[]} */ at, /** @type {string} */ value) => ({ set: { at, value } });
export const list = (/** @type {string[]} */ names) => `[${names.map(text).join(", ")}]`;
export const planeName = (/** @type {number} */ p) => desk.state.planes[p] ?? "front";

/** Lets the frame carry a point. @param {string[]} names */
export function onFrame(names) {
  const has = parts()[0]?.carries ?? [];
  const all = [...has, ...names.filter((n) => !has.includes(n))];
  if (!/^\s*\[frame\]/m.test(desk.state.text) || !has.length) return [set(["frame", "carries"], list(all))];
  return names.filter((n) => !has.includes(n)).map((n) => ({ insert: { at: ["frame", "carries"], before: 9999, value: text(n) } }));
}
