// @ts-check
/** The machine file as text, with its problems in place; what is typed is written a moment later. */

import { desk } from "./desk.js";
import { el, later, make, say, whenBack } from "./wire.js";

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
  told = lines[n];
  mark();
  const from = lines.slice(0, n).join("\n").length + (n ? 1 : 0);
  text.setSelectionRange(from, from + lines[n].length);
  const height = parseFloat(getComputedStyle(text).lineHeight) || 18;
  text.scrollTop = Math.max(0, n * height - text.clientHeight / 3);
  // Beside the board, where the column runs by itself, the line comes into sight; elsewhere the board would go out of it.
  const column = file.parentElement;
  if (column.scrollHeight > column.clientHeight) column.scrollTo({ top: file.offsetTop - column.clientHeight / 3 });
  sync();
}

/** The line that was gone to last. @type {string | null} */
let told = null;

/** Problems under the words they mean. */
function mark() {
  const lines = text.value.split("\n");
  const problems = dirty ? [] : desk.state.problems.map(place);
  const by = new Map(problems.filter((p) => p.line).map((p) => [p.line, p]));
  under.replaceChildren(...lines.flatMap((/** @type {string} */ l, /** @type {number} */ i) => {
    const p = by.get(i + 1);
    if (!p) return l === told && l ? [make("mark", {}, l), "\n"] : [`${l}\n`];
    const a = Math.max(0, p.column - 1);
    const b = Math.max(a + 1, p.end ?? l.length);
    return [l.slice(0, a), make("u", {}, l.slice(a, b) || " "), `${l.slice(b)}\n`];
  }));
  const choices = torn ? [make("li", { class: "error" }, "These lines were changed elsewhere too. ", make("button", { onclick: () => settle(true) }, "Write mine"), " ", make("button", { onclick: () => settle(false) }, "Take the file's"))] : [];
  if (desk.state.gone) choices.push(make("li", { class: "error" }, make("button", { onclick: () => desk.send("text", { text: text.value }) }, `Write ${desk.state.file} again from here`)));
  el("problems").replaceChildren(...choices, ...problems.map((p) => make("li", { class: p.severity },
    make("button", { class: "plain", onclick: () => { jump(p.line); text.focus(); } }, p.line ? `Line ${p.line}: ` : "", p.message),
    ...(p.help ? [make("p", { class: "try" }, p.help)] : []))));
  const wrong = problems.filter((p) => p.severity !== "warning").length;
  el("file-state").textContent = refused ? " – not written" : dirty ? " – being written" : wrong ? ` – ${wrong} ${wrong === 1 ? "problem" : "problems"}; the last good machine is on show` : "";
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

/**
 * What is typed and what was changed elsewhere, in one; null where both changed the same lines.
 * @param {string} base what both began with @param {string} mine @param {string} theirs
 */
export function merged(base, mine, theirs) {
  if (theirs === base || mine === theirs) return mine;
  if (mine === base) return theirs;
  const [b, m, t] = [base, mine, theirs].map((x) => x.split("\n"));
  /** From where to where lines of the base were changed, and to what. @param {string[]} to @returns {[number, number, string[]]} */
  const change = (to) => {
    let first = 0;
    while (first < b.length && first < to.length && b[first] === to[first]) first++;
    let last = 0;
    while (last < b.length - first && last < to.length - first && b[b.length - 1 - last] === to[to.length - 1 - last]) last++;
    return [first, b.length - last, to.slice(first, to.length - last)];
  };
  const [one, two] = [change(m), change(t)].sort((x, y) => x[0] - y[0] || x[1] - y[1]);
  if (one[1] > two[0] || (one[0] === two[0] && one[1] === two[1])) return null;
  return [...b.slice(0, one[0]), ...one[2], ...b.slice(one[1], two[0]), ...two[2], ...b.slice(two[1])].join("\n");
}

/** The same lines were changed elsewhere meanwhile; what is typed waits for a word. */
let torn = false;
const write = later(500, async () => {
  if (torn) return;
  let sent = "";
  const ok = await desk.send("text", () => {
    const now = merged(known, text.value, desk.state.text);
    if (now == null) {
      torn = true;
      say("These lines were changed elsewhere too: what you typed is still here, but not written", true);
      return null;
    }
    if (now !== text.value) lay(now);
    known = desk.state.text;
    sent = now;
    return now === desk.state.text ? null : { text: now };
  });
  if (ok) known = sent;
  if (ok || text.value === desk.state.text) dirty = text.value !== desk.state.text;
  refused = !ok && dirty && !torn;
  if (refused) again();
  mark();
});
/** What is typed could not be written; it is tried again every few seconds, and whenever something is heard of the file. */
let refused = false;
const again = later(3000, () => refused && write());
addEventListener("beforeunload", (e) => dirty && e.preventDefault());

/** Puts a text into the field, and leaves the cursor where it was. @param {string} fresh */
function lay(fresh) {
  const [a, b, top] = [text.selectionStart, text.selectionEnd, text.scrollTop];
  text.value = fresh;
  text.setSelectionRange(Math.min(a, fresh.length), Math.min(b, fresh.length));
  text.scrollTop = top;
}

/** Ends a disagreement: my text, or the one that is in the file. @param {boolean} mine */
function settle(mine) {
  torn = false;
  known = desk.state.text;
  if (mine) return write();
  dirty = false;
  lay(desk.state.text);
  mark();
}

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
  if (!dirty) {
    if (fresh !== text.value) lay(fresh);
    known = fresh;
  } else if (refused) write();
  mark();
});
// What could not be written while the program was away is written when it is back.
whenBack(() => dirty && write());
file.addEventListener("toggle", sync);
