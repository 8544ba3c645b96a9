// @ts-check
/** What the program has to say: asks, findings, loads, and how kept variants compare. */

import { desk } from "./desk.js";
import { el, figure, get, here, make, post, remove, room, say, words, work } from "./wire.js";
import { jump } from "./text.js";

const GRAVE = { fault: "Fault", miss: "Missed", caution: "Caution", note: "Note", kept: "Kept" };

/** A finding as an entry of a list: picking it lights its part and goes to its line. @param {any} f @param {any} place */
export function finding(f, place) {
  const [kind, name] = (f.about ?? "").split(".");
  const go = () => {
    if (name) desk.pick({ kind, name });
    jump(place?.line, f.about);
  };
  return make("li", { class: f.severity },
    make("button", { class: "plain", onclick: go }, make("b", {}, GRAVE[/** @type {keyof typeof GRAVE} */ (f.severity)] ?? f.severity), " ", f.sentence),
    ...(f.what_to_try ? [make("p", { class: "try" }, `Try: ${f.what_to_try}`)] : []));
}

let asked = "";
async function check() {
  const { good, version } = desk.state;
  const key = `${version} ${desk.as}`;
  if (!good || asked === key) return;
  asked = key;
  try {
    const got = await work("Findings", "check", new URLSearchParams({ as: desk.as }));
    if (asked !== key) return;
    const answer = got.report.answer;
    const all = (answer.findings ?? []).map((/** @type {any} */ f, /** @type {number} */ i) => ({ f, place: answer.finding_places?.[i] }));
    const ask = (/** @type {any} */ x) => x.f.about?.startsWith("ask.");
    const asks = all.filter(ask);
    const rest = all.filter((/** @type {any} */ x) => !ask(x));
    el("asks").querySelector("ul").replaceChildren(...asks.map((/** @type {any} */ x) => finding(x.f, x.place)));
    el("findings").querySelector("ol").replaceChildren(...rest.map((/** @type {any} */ x) => finding(x.f, x.place)));
    const judged = answer.asks ?? [];
    const missed = judged.filter((/** @type {any} */ a) => !a.kept).length;
    const words = judged.length === 0 ? "no asks in the file" : missed ? `${missed} of ${judged.length} asks missed` : judged.length > 1 ? `all ${judged.length} asks are kept` : "its one ask is kept";
    const count = el("findings").querySelector(".count");
    if (count.textContent !== words) count.textContent = words;
    el("asks").hidden = asks.length === 0;
  } catch (t) {
    asked = "";
    desk.trouble(t);
  }
}

let loaded = "";
async function load() {
  const shown = desk.view === "load";
  el("loads").hidden = !shown;
  if (!shown) el("load-table").hidden = true;
  const forces = shown && el("arrows").checked;
  const bend = shown ? Number(el("bend").value) : 0;
  const under = el("case").value;
  const extra = { ...(forces ? { forces: true } : {}), ...(bend ? { stretch: bend } : {}), ...(under && (forces || bend) ? { case: under } : {}) };
  if (JSON.stringify(extra) !== JSON.stringify(desk.extra)) {
    desk.extra = extra;
    if (desk.state.good) desk.put({});
  }
  if (!shown || !desk.state.good) return;
  const q = desk.query({ case: under });
  const key = `${desk.state.version} ${q}`;
  if (key === loaded) {
    el("load-table").hidden = !el("load-text").textContent;
    return;
  }
  loaded = key;
  try {
    const got = await work("Loads", "load", q);
    if (loaded === key) words(el("load-text"), got.text);
    el("load-table").hidden = desk.view !== "load";
  } catch (t) {
    // A refusal is an answer; only a program that was not there is asked again.
    if (!(/** @type {any} */ (t).status)) loaded = "";
    el("load-table").hidden = true;
    if (!el("load-words").childElementCount) el("load-words").replaceChildren(make("li", {}, /** @type {any} */ (t).sentence));
  }
}
el("arrows").addEventListener("change", load);
el("case").addEventListener("change", load);
desk.on("state", () => {
  const cases = desk.state.cases ?? [];
  const kept = el("case").value;
  el("case").replaceChildren(...cases.map((name) => make("option", {}, name)));
  if (cases.includes(kept)) el("case").value = kept;
  el("case").closest("p").hidden = cases.length < 2;
});
el("bend").addEventListener("input", () => {
  const n = Number(el("bend").value);
  el("bend").nextElementSibling.textContent = n ? `${n} times` : "off";
  load();
});

// --- made machines --------------------------------------------------------------------------------------------------------------

/** @param {string | undefined} text @param {string} [plot] */
function made(text, plot) {
  figure(el("bars"), plot);
  el("made-text").hidden = !text;
  words(el("made-text"), text ?? "");
}

let job = 0;
async function spread() {
  const line = el("progress");
  try {
    made(undefined);
    const mine = (await post("spread", { machines: 100000, values: desk.words, as: desk.as })).job;
    job = mine;
    line.hidden = false;
    while (job === mine) {
      const got = await get(`/api/jobs/${mine}`);
      line.querySelector("progress").max = got.of;
      line.querySelector("progress").value = got.done;
      line.querySelector("output").textContent = got.seconds_left == null ? "begun" : `${got.seconds_left} s left`;
      if (got.answer || got.stopped) {
        line.hidden = true;
        made(got.stopped ? "Stopped" : (got.answer.text ?? got.answer.error), got.answer?.plot);
        return;
      }
      await new Promise((then) => setTimeout(then, 250));
    }
  } catch (t) {
    line.hidden = true;
    desk.trouble(t);
  }
}
el("spread").addEventListener("click", spread);
el("progress").querySelector("button").addEventListener("click", () => remove(`/api/jobs/${job}`).catch((t) => desk.trouble(t)));
el("matters").addEventListener("click", async () => {
  try {
    made((await work("Dimensions", "sensitivity", desk.query())).text);
  } catch (t) {
    desk.trouble(t);
  }
});

// --- variants -------------------------------------------------------------------------------------------------------------------

async function kept() {
  try {
    const { kept } = await get("kept");
    el("variants").querySelector("ul").replaceChildren(...kept.map((/** @type {string} */ name) => make("li", {},
      make("button", { class: "plain", title: "Compare with the machine as it is now", onclick: () => compare(name) }, name),
      make("button", { title: "Put the machine back to this variant; undo brings back what is there now", onclick: () => desk.send("restore", { name }, `Back to ${name}`) }, "Go back"),
      make("button", { title: "Throw this variant away", "aria-label": `Throw ${name} away`, onclick: () => remove(`${here}kept?${new URLSearchParams({ name })}`).then(kept, (t) => desk.trouble(t)) }, "×"))));
  } catch (t) {
    desk.trouble(t);
  }
}
el("keep").addEventListener("click", async () => {
  try {
    const now = new Date();
    const two = (/** @type {number} */ n) => String(n).padStart(2, "0");
    const name = el("keep-as").value.trim() || `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())} ${now.toTimeString().slice(0, 8).replaceAll(":", "-")}`;
    await post("keep", { name });
    el("keep-as").value = "";
    say(`Kept as ${name}`);
    kept();
  } catch (t) {
    desk.trouble(t);
  }
});

/** Curves of now and of a variant on the same axes, what is said of each side by side. @param {string} name */
async function compare(name) {
  try {
    const drive = el("over").value;
    const [curves, checks] = await Promise.all([
      drive ? work("Curves compared", "compare", desk.query({ with: name, of: "motion", drive, reading: el("of").value, look: "board", room: room(el("foot")) })) : null,
      work("Findings compared", "compare", new URLSearchParams({ with: name, of: "check" })),
    ]);
    const plot = make("div", { class: "plot" });
    figure(plot, curves?.plot);
    const column = (/** @type {string} */ title, /** @type {any} */ check) => {
      const said = (check?.report?.answer?.findings ?? []).filter((/** @type {any} */ f) => f.severity !== "note");
      const list = said.length ? said.map((/** @type {any} */ f) => finding(f, null)) : [make("li", {}, check?.error ?? "nothing to say")];
      return make("div", {}, make("h3", {}, title), make("ol", {}, ...list));
    };
    const away = make("button", { onclick: () => el("beside").replaceChildren() }, "Put away");
    el("beside").replaceChildren(make("div", { class: "heads" }, make("h2", {}, `Now and ${name}`), away), plot, column("Now", checks.now), column(name, checks.kept));
    el("beside").scrollIntoView({ block: "nearest" });
  } catch (t) {
    desk.trouble(t);
  }
}

desk.on("state", (changed) => {
  check();
  load();
  if (changed) kept();
});
desk.on("settled", load);
desk.on("pose", (pose) => {
  if (desk.view !== "load") return;
  const said = pose.said ?? [];
  el("load-words").replaceChildren(...(pose.refused ? [make("li", {}, pose.refused)] : said.map((/** @type {any} */ f) => finding(f, null))));
});
desk.on("view", load);
desk.on("kept", kept);
