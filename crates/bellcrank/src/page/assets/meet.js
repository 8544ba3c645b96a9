// @ts-check
/** Where parts meet or come closest: the pairs, and each as it looks there. */

import { board } from "./board.js";
import { desk } from "./desk.js";
import { turnOf } from "./dials.js";
import { stop } from "./play.js";
import { finding } from "./tell.js";
import { second, turnQuery } from "./turn.js";
import { draw, el, make, say, words, work } from "./wire.js";

/** @typedef {{parts: string[], words: string, meets: boolean, values: Record<string, number>, plane: number, place: number[], outlines: number[][][][] | null}} Pair */

/** The pair on show. @type {Pair | null} */
let shown = null;
/** The machine that the pairs were found on. */
let found = "";
const now = () => `${desk.state.version} ${desk.as}`;

async function look() {
  const mine = now();
  const q = turnQuery({ by: second() });
  for (const name of ["speed", "within", "unevenness", "run", "from", "start", "reading"]) q.delete(name);
  try {
    const got = await work("Where parts meet", "clearance", q);
    if (mine !== now()) return;
    found = mine;
    words(el("meet-text"), got.text.trim());
    el("meet-all").hidden = false;
    // What was left out stands in the figures: nothing is told to be clear that was not looked at.
    const none = make("li", {}, "No two of the parts that were looked at come near one another");
    const said = got.clearance.findings.map((/** @type {any} */ f) => finding(f, null));
    el("meet-list").replaceChildren(...(got.pairs.length ? got.pairs.map(entry) : [none]));
    el("meet-findings").replaceChildren(...said);
  } catch (t) {
    el("meet-list").replaceChildren(make("li", { class: "miss" }, /** @type {any} */ (t).sentence ?? ""));
    el("meet-findings").replaceChildren();
  }
}

/** @param {Pair} pair */
function entry(pair) {
  return make("li", { class: pair.meets ? "miss" : "" }, make("span", {}, pair.words), " ", make("button", { onclick: () => go(pair), "aria-label": `Go where ${pair.parts.join(" and ")} are closest` }, "Go there"));
}

/** Brings the machine there and shows both. @param {Pair} pair */
function go(pair) {
  stop();
  shown = pair;
  desk.put(pair.values);
  el("plate").scrollIntoView({ block: "nearest" });
  say(pair.words);
}

/** Whether the machine stands where the pair is closest. */
function there() {
  const values = desk.pose?.values;
  return Boolean(shown && values) && Object.entries(shown?.values ?? {}).every(([name, v]) => {
    const k = desk.state.drives.find((d) => d.name === name);
    const turn = k?.whole_turn ? turnOf(k.unit) : Infinity;
    const off = Math.abs(values[name] - v) % turn;
    return Math.min(off, turn - off) < 1e-4 * (Math.abs(v) + 1);
  });
}

/** Lays both outlines and the place over the picture, as long as the machine stands there. */
function lay() {
  board.sheet?.querySelectorAll(".meeting").forEach((g) => g.remove());
  if (!shown || !there()) return;
  const view = board.view(shown.plane);
  if (!view) return;
  const all = draw("g", { class: "meeting", "aria-hidden": "true" });
  const line = (/** @type {number[][]} */ corners) => `M${corners.map((p) => board.paper(p).join(" ")).join("L")}Z`;
  (shown.outlines ?? []).forEach((lines, i) => all.append(draw("path", { class: i ? "other" : "one", d: lines.map(line).join("") })));
  const [x, y] = board.paper(shown.place);
  all.append(draw("circle", { class: "spot", cx: x, cy: y, r: 3 }), draw("path", { class: "spot", d: `M${x - 5} ${y}h10M${x} ${y - 5}v10` }));
  view.append(all);
}

el("meet-ask").addEventListener("click", look);
desk.on("pose", lay);
desk.on("painted", lay);
desk.on("view", () => {
  if (desk.view !== "cycle") shown = null;
  lay();
});
desk.on("state", () => {
  if (found === now()) return;
  // What was found is not true of another machine.
  shown = null;
  for (const id of ["meet-list", "meet-findings"]) el(id).replaceChildren();
  el("meet-all").hidden = true;
  lay();
});
