// @ts-check
/** The machine file as text, with its problems in place; what is typed is written a moment later. */

import { desk } from "./desk.js";
import { el, later, make, whenBack } from "./wire.js";

const text = el("text");
const under = el("under");
const file = el("file");
/** What the page last had from the program. */
let known = "";
let dirty = false;

/** Goes to a line of the file, or to where something is headed. @param {number | undefined} line @param {string} [about] */
export function jump(line, about) {
  const lines = text.value.split("\n");
  let n = line ? line - 1 : -1;
  if (n < 0 && about) {
    const [kind, name] = about.split(".");
    n = lines.findIndex((/** @type {string} */ l) => l.trim().startsWith(`[${about}]`) || (kind === "point" && new RegExp(`^\\s*${name}\\s*=`).test(l)));
  }
  if (n < 0) return;
  file.open = true;
  const from = lines.slice(0, n).join("\n").length + (n ? 1 : 0);
  text.setSelectionRange(from, from + lines[n].length);
  const height = parseFloat(getComputedStyle(text).lineHeight) || 18;
  text.scrollTop = Math.max(0, n * height - text.clientHeight / 3);
  sync();
}

/** Problems under the words they mean. */
function mark() {
  const lines = text.value.split("\n");
  const problems = dirty ? [] : desk.state.problems.map(place);
  const by = new Map(problems.filter((p) => p.line).map((p) => [p.line, p]));
  under.replaceChildren(...lines.flatMap((/** @type {string} */ l, /** @type {number} */ i) => {
    const p = by.get(i + 1);
    if (!p) return [`${l}\n`];
    const a = Math.max(0, p.column - 1);
    const b = Math.max(a + 1, p.end ?? l.length);
    return [l.slice(0, a), make("u", {}, l.slice(a, b) || " "), `${l.slice(b)}\n`];
  }));
  el("problems").replaceChildren(...problems.map((p) => make("li", { class: p.severity },
    make("button", { class: "plain", onclick: () => { jump(p.line); text.focus(); } }, p.line ? `Line ${p.line}: ` : "", p.message),
    ...(p.help ? [make("p", { class: "try" }, p.help)] : []))));
  const wrong = problems.filter((p) => p.severity !== "warning").length;
  el("file-state").textContent = dirty ? " – being written" : wrong ? ` – ${wrong} ${wrong === 1 ? "problem" : "problems"}; the last good machine is on show` : "";
  if (wrong && !file.open && !desk.state.good) file.open = true;
}

/** A problem, whatever names its places have. @param {any} p */
function place(p) {
  const at = p.at ?? p.labels?.[0] ?? p.places?.[0] ?? p;
  const start = at.start ?? at;
  return { severity: p.severity, message: p.message, help: p.help, line: start.line ?? at.line, column: start.column ?? at.column ?? 1, end: (at.end?.line ?? at.end_line ?? at.line) === (start.line ?? at.line) ? (at.end?.column ?? at.end_column ?? (at.length ? (at.column ?? 1) + at.length : 0)) - 1 : undefined };
}

function sync() {
  under.scrollTop = text.scrollTop;
  under.scrollLeft = text.scrollLeft;
}

const write = later(500, async () => {
  const now = text.value;
  if (now === desk.state.text) {
    dirty = false;
    return mark();
  }
  known = now;
  if (await desk.write(now)) dirty = text.value !== now;
  mark();
});

text.addEventListener("input", () => {
  dirty = true;
  mark();
  write();
});
text.addEventListener("scroll", sync);
text.addEventListener("blur", () => dirty && write());

desk.on("state", () => {
  const fresh = desk.state.text;
  // Words that are being typed are not taken away; they are written on top of what has come.
  if (!dirty && fresh !== text.value) {
    const [a, b, top] = [text.selectionStart, text.selectionEnd, text.scrollTop];
    text.value = fresh;
    text.setSelectionRange(Math.min(a, fresh.length), Math.min(b, fresh.length));
    text.scrollTop = top;
  }
  known = fresh;
  mark();
});
// What could not be written while the program was away is written when it is back.
whenBack(() => dirty && write());
file.addEventListener("toggle", sync);
void known;
