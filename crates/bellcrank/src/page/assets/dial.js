// @ts-check
/** Dial in: readings typed into the log, and what the command `dial-in` says of it, word for word; the scale. */

import { desk } from "./desk.js";
import { el, exported, figure, get, later, make, me, post, say, work } from "./wire.js";

const shown = () => desk.view === "dial-in";

// --- what the log tells ---------------------------------------------------------------------------------------------------------

let asked = "";
async function fit() {
  el("dial").hidden = !shown();
  if (!shown() || !desk.state.good || asked === `${desk.state.version}`) return;
  asked = `${desk.state.version}`;
  blank();
  scale();
  const told = (/** @type {string} */ text, /** @type {string} */ plot, /** @type {any[]} */ problems) => {
    el("dial-text").textContent = text;
    figure(el("dial-plot"), plot);
    el("log-problems").replaceChildren(...problems.map((p) => make("li", { class: p.severity }, `${p.at?.line ? `Line ${p.at.line}: ` : ""}${p.message}`, ...(p.help ? [make("p", { class: "try" }, p.help)] : []))));
  };
  try {
    const got = await work("Fit to the readings", "dial-in", new URLSearchParams({ look: "board" }));
    if (got.version === desk.state.version) told(got.text, got.plot, []);
  } catch (t) {
    const it = /** @type {any} */ (t);
    if (!it.status) asked = "";
    told(it.sentence ?? "", "", desk.state.log == null ? [] : (it.data?.problems ?? []));
  }
}

// --- readings -------------------------------------------------------------------------------------------------------------------

const run = el("run");
const table = run.querySelector("table");
/** A reading or drive chosen by hand. @param {string} name */
const chosen = (name) => new URLSearchParams(Object.entries({ reading: run.elements.reading.value, drive: run.elements.drive.value, [name]: "" }).filter(([, v]) => v));

/** An empty table for the reading and drive that are chosen, unless something is typed into the one that is there. */
async function blank() {
  options(run.elements.reading, desk.state.readings);
  options(run.elements.drive, desk.state.drives);
  options(run.elements.under, desk.state.cases.map((name) => ({ name })));
  run.hidden = !desk.state.drives.length || !desk.state.readings.length;
  run.elements.on.value ||= new Date().toISOString().slice(0, 10);
  if (run.hidden || [...table.querySelectorAll("td:not(:first-child) input")].some((i) => i.value.trim())) return;
  try {
    const lines = (await get("run", chosen(""))).table.trim().split("\n").filter((/** @type {string} */ l) => !l.startsWith("#"));
    const heads = lines[0].split(",");
    const row = (/** @type {string[]} */ cells, /** @type {number} */ n) => make("tr", {}, ...heads.map((/** @type {string} */ head, /** @type {number} */ i) =>
      make("td", {}, make("input", { value: cells[i] ?? "", "aria-label": `${head}, line ${n}`, autocomplete: "off", inputmode: "text" }))));
    const places = lines.slice(1).map((/** @type {string} */ l) => l.split(","));
    table.replaceChildren(
      make("thead", {}, make("tr", {}, ...heads.map((/** @type {string} */ h) => make("th", { scope: "col" }, h)))),
      make("tbody", {}, ...[...places, []].map((cells, i) => row(cells, i + 1))));
  } catch (t) {
    desk.trouble(t);
  }
}

/** @param {any} select @param {{name: string}[]} all */
function options(select, all) {
  const kept = select.value;
  select.replaceChildren(make("option", { value: "" }, select.dataset.none), ...all.map((x) => make("option", {}, x.name)));
  if (all.some((x) => x.name === kept)) select.value = kept;
}
for (const name of ["reading", "drive"]) {
  run.elements[name].addEventListener("change", () => {
    table.replaceChildren();
    blank();
  });
}

// A column that is copied from elsewhere is laid into the lines below; Enter goes to the next line.
table.addEventListener("paste", (/** @type {ClipboardEvent} */ e) => {
  const lines = (e.clipboardData?.getData("text") ?? "").trim().split(/\r?\n/);
  if (lines.length < 2) return;
  e.preventDefault();
  const cell = /** @type {any} */ (e.target).closest("td");
  let line = cell.parentElement;
  for (const text of lines) {
    text.split(/[\t;]|,(?=\s|$)/).forEach((/** @type {string} */ word, /** @type {number} */ i) => {
      const into = line?.children[cell.cellIndex + i]?.firstChild;
      if (into) into.value = word.trim();
    });
    line = line?.nextElementSibling;
  }
});
table.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
  const by = /** @type {Record<string, number>} */ ({ Enter: 1, ArrowDown: 1, ArrowUp: -1 })[e.key];
  if (!by) return;
  e.preventDefault();
  const cell = /** @type {any} */ (e.target).closest("td");
  const line = by > 0 ? cell.parentElement.nextElementSibling : cell.parentElement.previousElementSibling;
  line?.children[cell.cellIndex].firstChild.focus();
});
run.addEventListener("submit", async (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  const quoted = (/** @type {string} */ text) => (/[",]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const lines = [...table.querySelectorAll("tbody tr")].map((tr) => [...tr.querySelectorAll("input")].map((i) => i.value.trim())).filter((cells) => cells.slice(1).some((c) => c));
  if (!lines.length) return say("Type what the indicator shows into the table first", true);
  const heads = [...table.querySelectorAll("th")].map((th) => th.textContent);
  const said = (/** @type {string} */ name) => run.elements[name].value;
  const entry = { table: [heads, ...lines].map((l) => l.map(quoted).join(",")).join("\n") + "\n", uncertainty: said("uncertainty"), zero: said("zero"), sense: said("sense"), drive_zero: said("drive_zero"), under: said("under"), with: said("with"), on: said("on"), by: me };
  const was = desk.state.log ?? "";
  if (await desk.send("run", entry, `Written into ${desk.state.log_file}`)) table.replaceChildren(), blank(), keep(was);
});

// --- the log --------------------------------------------------------------------------------------------------------------------

const text = el("log-text");
const back = el("log-back");
/** The log before each thing that this window wrote into it. @type {string[]} */
const before = [];
/** @param {string} was */
function keep(was) {
  if (before.at(-1) !== was) before.push(was);
  back.disabled = false;
}
back.addEventListener("click", async () => {
  const was = before.pop();
  if (was !== undefined && !(await desk.send("log", { text: was }, "Taken back"))) before.push(was);
  back.disabled = !before.length;
});
let dirty = false;
const write = later(700, async () => {
  const [now, was] = [text.value, desk.state.log ?? ""];
  if (now === was) dirty = false;
  else if (await desk.send("log", { text: now })) dirty = text.value !== now, keep(was);
});
text.addEventListener("input", () => {
  dirty = true;
  write();
});
desk.on("state", () => {
  const log = desk.state.log ?? "";
  if (!dirty && text.value !== log) text.value = log;
  el("log-name").textContent = desk.state.log_file;
});

// --- the scale ------------------------------------------------------------------------------------------------------------------

const laid = el("scale-form");
async function scale() {
  const words = Object.entries({ radius: laid.elements.radius.value, strip: laid.elements.strip.value, "on-a": laid.elements.laid.value, goes: laid.elements.goes.value, coming: laid.elements.coming.value, step: laid.elements.step.value, reading: run.elements.reading.value, drive: run.elements.drive.value });
  const q = new URLSearchParams(words.filter(([, v]) => v));
  for (const a of laid.querySelectorAll("a")) a.href = exported(a.dataset.file, q);
  try {
    const got = await work("Scale", "scale", q);
    figure(el("scale-plot"), got.plot);
    el("scale-text").textContent = got.text;
  } catch (t) {
    figure(el("scale-plot"), "");
    el("scale-text").textContent = /** @type {any} */ (t).sentence;
  }
}
laid.addEventListener("change", scale);
laid.addEventListener("submit", (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  scale();
});
run.elements.reading.addEventListener("change", scale);
run.elements.drive.addEventListener("change", scale);

desk.on("state", fit);
desk.on("view", fit);
void post;
