// @ts-check
/** Curves over a drive: readings while it moves, or what it needs and what holds it under load. */

import { desk } from "./desk.js";
import { turnOf } from "./dials.js";
import { Plots } from "./plots.js";
import { el, later, options, room, words, work } from "./wire.js";

const plots = new Plots(el("plot"));
let asked = "";

/** @param {string} reading */
export function choose(reading) {
  el("of").value = el("of").value === reading ? "" : reading;
  curves();
  if (desk.state.readings.some((r) => r.name === reading)) desk.pick({ kind: "reading", name: reading });
}

/** Fetches the curves when what they depend on has changed. */
async function curves() {
  const { drives, readings, good } = desk.state;
  const study = desk.view === "load" ? "load" : "motion";
  const drive = el("over").value || drives[0]?.name;
  options("over", null, drives);
  options("of", "all readings", readings);
  el("curves").hidden = !drives.length || (study === "motion" && !readings.length) || !["motion", "load"].includes(desk.view);
  el("of").parentElement.hidden = study === "load";
  if (!good || el("curves").hidden) return;
  const q = desk.query({ drive, look: "board", room: room(el("plot")), ...(study === "load" ? { step: fine(drive) } : { reading: el("of").value }) });
  // The drive itself runs through the curve: where it stands does not matter.
  q.delete(`at.${drive}`);
  const key = `${desk.state.version} ${study} ${q}`;
  if (key === asked) return plots.mark();
  asked = key;
  try {
    const got = await work(study === "load" ? "Curves under load" : "Curves", study, q);
    if (asked !== key) return;
    plots.show([{ what: study, plot: got.plot, fields: got.fields ?? [], drive }]);
    words(el("table").querySelector("pre"), got.text);
    el("table").hidden = study === "load";
  } catch (t) {
    if (!(/** @type {any} */ (t).status)) asked = "";
    plots.say(/** @type {any} */ (t).sentence ?? "");
  }
}

/** Steps of a curve under load, fine enough that it looks like one. @param {string} name */
function fine(name) {
  const k = desk.state.drives.find((d) => d.name === name);
  const span = k?.whole_turn ? turnOf(k.unit) : (k?.high ?? 0) - (k?.low ?? 0);
  return k && span > 0 ? `${span / 240} ${k.unit}` : "";
}

for (const id of ["over", "of"]) el(id).addEventListener("change", curves);
desk.on("state", () => desk.state.good && curves());
desk.on("settled", curves);
desk.on("view", curves);
new ResizeObserver(later(300, curves)).observe(el("plot"));
