// @ts-check
/** The whole turn of a drive, and two drives at once: the answers of the command `cycle`. */

import { desk } from "./desk.js";
import { Plots } from "./plots.js";
import { finding } from "./tell.js";
import { el, exported, later, make, options, room, words, work } from "./wire.js";

const form = /** @type {HTMLFormElement} */ (el("turn-form"));
const turnPlots = new Plots(el("turn-plots"));
const twoPlots = new Plots(el("two-plots"));

/** The field of this name. @param {string} name @returns {any} */
const field = (name) => form.elements.namedItem(name);
/** What is asked of a run in time alone. */
const TIMED = ["from", "start"];
const FIELDS = ["speed", "within", "unevenness", ...TIMED];
const ALL = [...FIELDS, "run"];

/** The query of the turn as it is asked for now. @param {Record<string, string>} [more] */
export function turnQuery(more = {}) {
  const drive = field("drive").value;
  const asked = field("run").value ? ALL : ALL.filter((name) => !TIMED.includes(name));
  const typed = Object.fromEntries(asked.map((name) => [name, field(name).value.trim()]));
  const q = desk.query({ drive, reading: field("reading").value, case: field("case").value, ...typed, ...more });
  // The drive runs through its turn: where it stands does not matter.
  q.delete(`at.${drive}`);
  return q;
}
/** The second drive of a map; none when the machine has one alone. */
export const second = () => (desk.state.drives.length > 1 ? el("two-by").value : "");

/** Lists of drives, readings and cases, as the machine has them now. */
function lists() {
  const { drives, readings, cases } = desk.state;
  const was = field("drive").value;
  options("turn-drive", null, drives);
  // What goes round comes first.
  const round = drives.find((d) => d.whole_turn);
  if (round && !drives.some((d) => d.name === was)) field("drive").value = round.name;
  options("turn-reading", "all of them", readings);
  options("turn-case", "as the file says", cases);
  options("two-by", null, drives.filter((d) => d.name !== field("drive").value));
  field("case").parentElement.hidden = cases.length === 0;
  const round_ = drives.find((d) => d.name === field("drive").value)?.whole_turn;
  for (const name of TIMED) field(name).parentElement.hidden = !field("run").value;
  field("from").placeholder = field("run").value === "let-go" ? "its speed" : "rest";
  field("speed").placeholder = round_ === false ? "50 mm/s" : "60 rpm";
}

/**
 * Asks a study once for all that it depends on; a mistake is told beside what was asked, and what was known stays.
 * @param {{key: string}} last @param {string} kind @param {string} study @param {URLSearchParams} q @param {(got: any) => void} then @param {(t: any) => void} fail
 */
async function ask(last, kind, study, q, then, fail) {
  const key = `${desk.state.version} ${desk.as} ${q}`;
  if (key === last.key) return;
  last.key = key;
  try {
    const got = await work(kind, study, q);
    if (last.key === key) then(got);
  } catch (t) {
    if (last.key !== key) return;
    // A refusal is an answer; only a program that was not there is asked again.
    if (!(/** @type {any} */ (t).status)) last.key = "";
    fail(t);
  }
}

const asked = { turn: { key: "" }, two: { key: "" } };

function turn() {
  const driven = desk.state.drives.length > 0;
  const shown = desk.view === "cycle" && driven;
  el("turn").hidden = desk.view !== "cycle";
  el("meet").hidden = !shown;
  form.classList.toggle("idle", !driven);
  el("turn-figures").hidden = !driven;
  if (!driven && desk.state.good) turnPlots.say("Nothing is driven yet: take Drive (D) and pick the part that is moved");
  el("two").hidden = !shown || desk.state.drives.length < 2 || !desk.state.readings.length;
  if (!shown || !desk.state.good) return;
  const look = { look: "board", room: room(el("turn-plots")) };
  ask(asked.turn, "The whole turn", "cycle", turnQuery(look), toldTurn, wrong);
  if (el("two").hidden) return;
  const by = second();
  const q = turnQuery({ ...look, by });
  q.delete(`at.${by}`);
  for (const name of ALL) q.delete(name);
  ask(asked.two, "Map", "map", q, toldTwo, (t) => {
    twoPlots.say(t.sentence);
    el("two-figures").hidden = true;
  });
}

/** @param {any} got */
function toldTurn(got) {
  wrong(null);
  turnPlots.show(got.plots);
  words(el("turn-text"), got.text);
  const a = got.report.answer;
  for (const { it, frame } of turnPlots.all) if (it.cam) frame.append(table(it.cam, a.cam_findings ?? []));
  const all = [...(a.falls_short ?? []), ...(a.cam_findings ?? []), ...(a.turning?.findings ?? []), ...(a.running?.findings ?? [])];
  const heavy = all.filter((/** @type {any} */ f) => f.severity !== "note");
  el("turn-findings").replaceChildren(...heavy.map((/** @type {any} */ f) => finding(f, null)));
}

/** What a cam is cut by, to be taken out; of one that would be scrap there is none. @param {string} cam @param {any[]} findings */
function table(cam, findings) {
  const scrap = findings.some((f) => f.about === `cam.${cam}` && f.severity === "fault");
  const link = make("a", { download: true, href: exported("cam.csv", turnQuery({ cam })) }, "Table to cut it by, CSV");
  return make("p", {}, scrap ? "It would be scrap: there is no table to cut it by" : link);
}

/** @param {any} got */
function toldTwo(got) {
  el("two-figures").hidden = Boolean(got.none);
  if (got.none) return twoPlots.say(got.none);
  twoPlots.show(got.plots);
  words(el("two-text"), got.text.trim());
}

/** Tells a mistake beside its field. @param {any} t */
function wrong(t) {
  const line = el("turn-wrong");
  line.hidden = !t;
  line.textContent = t?.sentence ?? "";
  for (const name of FIELDS) {
    const bad = t?.message?.startsWith(`${name} `);
    if (bad) field(name).setAttribute("aria-invalid", "true");
    else field(name).removeAttribute("aria-invalid");
  }
}

form.addEventListener("submit", (e) => e.preventDefault());
form.addEventListener("change", () => {
  lists();
  turn();
});
el("two-by").addEventListener("change", turn);
desk.on("state", () => {
  lists();
  turn();
});
desk.on("view", turn);
desk.on("settled", turn);
new ResizeObserver(later(300, turn)).observe(el("turn-plots"));
