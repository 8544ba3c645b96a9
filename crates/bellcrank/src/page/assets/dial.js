// @ts-check
/** Dial in: readings typed into the log, and what the command `dial-in` says of it, word for word; the scale. */

import { desk } from "./desk.js";
import { el, exported, figure, get, later, machine, make, room, words, work } from "./wire.js";

const shown = () => desk.view === "dial-in";

// --- what the log tells ---------------------------------------------------------------------------------------------------------

let asked = "";
async function fit() {
  el("dial").hidden = !shown();
  if (!shown() || !desk.state.good) return;
  // The width of the plot is asked for; what is said hangs on the machine and its log alone.
  const wide = room(el("dial"));
  const now = `${desk.state.version} ${wide}`;
  if (asked === now) return;
  const changed = asked.split(" ")[0] !== `${desk.state.version}`;
  asked = now;
  if (changed) blank(), scale();
  const told = (/** @type {string} */ text, /** @type {string} */ plot, /** @type {any[]} */ problems) => {
    words(el("dial-text"), text);
    figure(el("dial-plot"), plot);
    el("log-problems").replaceChildren(...problems.map((p) => make("li", { class: p.severity }, `${p.at?.line ? `Line ${p.at.line}: ` : ""}${p.message}`, ...(p.help ? [make("p", { class: "try" }, p.help)] : []))));
  };
  try {
    const got = await work("Fit to the readings", "dial-in", new URLSearchParams({ look: "board", room: wide }));
    if (got.version === desk.state.version) told(got.text, got.plot, []);
  } catch (t) {
    const it = /** @type {any} */ (t);
    if (!it.status) asked = "";
    told(it.sentence ?? "", "", desk.state.log == null ? [] : (it.data?.problems ?? []));
  }
}
new ResizeObserver(later(300, fit)).observe(el("dial"));

// --- how the machine stands -----------------------------------------------------------------------------------------------------

const rest = el("rest");
/** Settings as they were logged last, where they are not as drawn. @type {Record<string, string>} */
let logged = {};

/** A field for every drive and setting: as typed, else as on the board, else as logged last; empty as drawn. */
function stands() {
  const knobs = [...desk.state.drives, ...desk.state.settings];
  const fields = rest.querySelector("div");
  if ([...fields.querySelectorAll("input")].map((i) => i.name).join() !== knobs.map((k) => k.name).join()) {
    fields.replaceChildren(...knobs.map((k) => make("label", {}, k.name, make("input", { name: k.name, size: 9, placeholder: "as drawn", autocomplete: "off", oninput: (/** @type {any} */ e) => (e.target.dataset.typed = "1") }))));
  }
  for (const input of fields.querySelectorAll("input")) {
    if (!input.dataset.typed) input.value = input.name in desk.values ? (desk.words[input.name] ?? desk.values[input.name]) : (logged[input.name] ?? "");
  }
}
/** What stands elsewhere than drawn. @param {string} [but] */
const standing = (but) => Object.fromEntries([...rest.querySelectorAll("input")].filter((i) => i.value.trim() && i.name !== but).map((i) => [i.name, i.value.trim()]));

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
  for (const on of el("dial").querySelectorAll('[name="on"]')) on.value ||= new Date().toLocaleDateString("en-CA");
  if (run.hidden || [...table.querySelectorAll("td:not(:first-child) input")].some((i) => i.value.trim())) return;
  try {
    const got = await get("run", chosen(""));
    logged = got.standing;
    stands();
    el("known").replaceChildren(...got.dimensions.map((/** @type {string} */ name) => make("option", { value: name })));
    const lines = got.table.trim().split("\n").filter((/** @type {string} */ l) => !l.startsWith("#"));
    const heads = lines[0].split(",");
    const row = (/** @type {string[]} */ cells, /** @type {number} */ n) => make("tr", {}, ...heads.map((/** @type {string} */ head, /** @type {number} */ i) =>
      make("td", {}, make("input", { value: cells[i] ?? "", "aria-label": `${head}, line ${n}`, autocomplete: "off", enterkeyhint: "next" }))));
    const places = lines.slice(1).map((/** @type {string} */ l) => l.split(","));
    table.replaceChildren(
      make("thead", {}, make("tr", {}, ...heads.map((/** @type {string} */ h) => make("th", { scope: "col" }, h)))),
      make("tbody", {}, ...[...places, []].map((cells, i) => row(cells, i + 1))));
    recall();
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
// What is typed and not yet in the log outlives the page: a screen at the machine falls asleep.
const draft = `bellcrank ${machine} readings`;
const cells = () => [...table.querySelectorAll("tbody tr")].map((tr) => [...tr.querySelectorAll("input")].map((i) => i.value));
const heads = () => [...table.querySelectorAll("th")].map((th) => th.textContent);
run.addEventListener("input", (/** @type {Event} */ e) => {
  if (table.contains(/** @type {Node} */ (e.target))) localStorage.setItem(draft, JSON.stringify({ heads: heads(), cells: cells(), uncertainty: run.elements.uncertainty.value }));
});
/** Puts back what was typed into such a table and not written. */
function recall() {
  const kept = JSON.parse(localStorage.getItem(draft) ?? "null");
  if (kept?.heads?.join() !== heads().join()) return;
  run.elements.uncertainty.value ||= kept.uncertainty;
  table.querySelectorAll("tbody tr").forEach((/** @type {Element} */ tr, /** @type {number} */ n) =>
    tr.querySelectorAll("input").forEach((input, i) => (input.value = kept.cells[n]?.[i] ?? input.value)));
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
/** Sends what was typed, and tells below it how it went: the foot of the board may be far off. @param {Element} form @param {object} entry */
async function enter(form, entry) {
  const there = el("dial-say");
  form.append(there);
  const well = await desk.send("run", entry, `Written into ${desk.state.log_file}`);
  there.textContent = el("say").textContent;
  there.classList.toggle("bad", !well);
  there.hidden = false;
  return well;
}
/** What stands in the fields of a form that have a name. @param {any} form @param {string[]} names */
const said = (form, names) => Object.fromEntries(names.map((name) => [name, form.elements[name].value]));
run.addEventListener("submit", async (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  const quoted = (/** @type {string} */ text) => (/[",]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  const lines = cells().map((line) => line.map((c) => c.trim())).filter((line) => line.slice(1).some((c) => c));
  const file = run.elements.file.files[0];
  if (!file && !lines.length) return table.querySelector("td:nth-child(2) input")?.focus();
  const typed = [heads(), ...lines].map((l) => l.map(quoted).join(",")).join("\n") + "\n";
  const taken = file ? await file.text() : typed;
  const own = /^\uFEFF?"?([^#(,;\t"\n]+)/m.exec(taken)?.[1].trim();
  const entry = { table: taken, stands: standing(own), ...said(run, ["uncertainty", "zero", "sense", "drive_zero", "under", "with", "on"]) };
  if (!(await enter(run, entry))) return;
  run.elements.file.value = "";
  if (file) return;
  localStorage.removeItem(draft);
  table.replaceChildren();
  blank();
});
const part = el("part-measured");
part.addEventListener("submit", async (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  if (await enter(part, said(part, ["dimension", "value", "uncertainty", "with", "on"]))) part.elements.dimension.value = part.elements.value.value = "";
});
const job = el("job");
/** A field for every reading. */
function reads() {
  const into = job.querySelector(".reads");
  const names = desk.state.readings.map((r) => r.name);
  if ([...into.querySelectorAll("input")].map((i) => i.name).join() === names.join()) return;
  into.replaceChildren(...names.map((name) => make("label", {}, name, make("input", { name, size: 9, autocomplete: "off" }))));
}
job.addEventListener("submit", async (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  const all = [...job.querySelectorAll(".reads input")];
  const read = Object.fromEntries(all.filter((i) => i.value.trim()).map((i) => [i.name, i.value.trim()]));
  if (await enter(job, { reads: read, stands: standing(), ...said(job, ["job", "uncertainty", "on"]) })) for (const i of [...all, job.elements.job]) i.value = "";
});

// --- the log --------------------------------------------------------------------------------------------------------------------

const text = el("log-text");
for (const which of ["undo", "redo"]) el(`log-${which}`).addEventListener("click", () => desk.send(`log/${which}`, {}));
let dirty = false;
const write = later(700, async () => {
  const now = text.value;
  if (now === (desk.state.log ?? "")) dirty = false;
  else if (await desk.send("log", { text: now })) dirty = text.value !== now;
});
text.addEventListener("input", () => {
  dirty = true;
  write();
});
desk.on("state", () => {
  const log = desk.state.log ?? "";
  if (!dirty && text.value !== log) text.value = log;
  el("log-name").textContent = desk.state.log_file;
  const steps = /** @type {[string, string, string | null][]} */ ([["undo", "Undo", desk.state.log_undo], ["redo", "Do again", desk.state.log_redo]]);
  for (const [which, word, what] of steps) {
    el(`log-${which}`).disabled = !what;
    el(`log-${which}`).textContent = what ? `${word}: ${what}` : word;
  }
  stands();
  reads();
});
desk.on("pose", stands);

// --- the scale ------------------------------------------------------------------------------------------------------------------

const laid = el("scale-form");
/** Lays the scale out; a turning drive needs a radius first, which is only told to who asks for it. @param {boolean} [byHand] */
async function scale(byHand = false) {
  const turns = desk.state.drives.every((d) => /^(deg|rad|turn)/.test(d.unit));
  if (!byHand && turns && !laid.elements.radius.value.trim()) return;
  const asks = Object.entries({ radius: laid.elements.radius.value, strip: laid.elements.strip.value, "on-a": laid.elements.laid.value, goes: laid.elements.goes.value, coming: laid.elements.coming.value, step: laid.elements.step.value, reading: run.elements.reading.value, drive: run.elements.drive.value });
  const q = new URLSearchParams(asks.filter(([, v]) => v));
  for (const a of laid.querySelectorAll("a")) a.href = exported(a.dataset.file, q);
  try {
    const got = await work("Scale", "scale", q);
    figure(el("scale-plot"), got.plot);
    words(el("scale-text"), got.text);
  } catch (t) {
    figure(el("scale-plot"), "");
    el("scale-text").textContent = /** @type {any} */ (t).sentence;
  }
}
laid.addEventListener("change", () => scale());
laid.addEventListener("submit", (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  scale(true);
});
run.elements.reading.addEventListener("change", () => scale());
run.elements.drive.addEventListener("change", () => scale());

desk.on("state", fit);
desk.on("view", fit);
