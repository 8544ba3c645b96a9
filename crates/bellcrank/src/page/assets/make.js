// @ts-check
/** Make: what the command `packet` says, and its sheets as they are printed. */

import { desk } from "./desk.js";
import { jump } from "./text.js";
import { el, exported, get, here, make, work } from "./wire.js";

/** @typedef {{title: string, about: string[]}} Leaf */

let asked = "";
/** @type {Leaf[]} */
let sheets = [];
/** Sheet on show, counted from 1. */
let at = 1;
/** The paper, and whether the other unit stands in brackets. */
const paper = () => {
  const [leaf, dual] = el("make-paper").value.split("-");
  return new URLSearchParams(dual ? { paper: leaf, dual: "yes" } : { paper: leaf });
};
const shown = () => desk.view === "make";

async function papers() {
  el("make").hidden = !shown();
  const want = `${desk.state.version} ${el("make-paper").value}`;
  if (!shown() || !desk.state.good || asked === want) return;
  asked = want;
  el("make-pdf").href = exported("packet.pdf", paper());
  try {
    const got = await work("Shop papers", "make", paper());
    if (asked !== want) return;
    const was = sheets[at - 1];
    const nth = sheets.slice(0, at).filter((s) => s.title === was?.title).length;
    sheets = got.sheets;
    el("make-whole").textContent = got.whole;
    el("make-text").replaceChildren(...[...got.findings, ...got.solids].map(said));
    el("make-list").replaceChildren(...list());
    el("make-files").querySelector("ul").replaceChildren(...got.files.map((/** @type {string} */ f) => make("li", {}, make("a", { href: `${here}packet/${encodeURIComponent(f)}`, download: true }, f))));
    // The sheet that was looked at stays on show, wherever it is now.
    const again = sheets.flatMap((s, i) => (s.title === was?.title ? [i + 1] : []));
    show(again[nth - 1] ?? again[0] ?? 1);
  } catch (t) {
    const it = /** @type {any} */ (t);
    if (!it.status) asked = "";
    sheets = [];
    el("make-whole").textContent = it.sentence ?? "";
    el("make-text").replaceChildren();
    el("make-list").replaceChildren();
    el("make-sheet").replaceChildren();
    el("make-which").textContent = "";
  }
}

/** @typedef {{grade?: string, sentence: string, what_to_try?: string, about: string[]}} Said */

/** How grave a finding of the shop is: its word, and the colour it has everywhere on the page. */
const GRADES = /** @type {Record<string, [string, string]>} */ ({ unsound: ["Missed", "miss"], cannot: ["Cannot", "miss"], "way-round": ["Way round", "caution"], assumed: ["Assumed", "note"] });

/** What is said of some parts; picking it shows the first of them. @param {Said} one */
function said({ grade, sentence, what_to_try, about }) {
  const [word, colour] = GRADES[grade ?? ""] ?? ["", "note"];
  return make("li", { class: colour },
    make("button", { class: "plain", onclick: () => light(about[0]) }, ...(word ? [make("b", {}, word), " "] : []), sentence),
    ...(what_to_try ? [make("p", { class: "try" }, `Try: ${what_to_try}`)] : []));
}

/** Shows the first sheet of a part, lights it where the machine has it, and goes to its lines. @param {string} part */
function light(part) {
  look(part);
  const kind = ["part", "shaft", "rod"].find((k) => desk.section(`${k}.${part}`).size);
  if (kind) desk.pick({ kind: kind === "rod" ? kind : "part", name: part });
  jump(undefined, `${kind ?? "piece"}.${part}`);
}

/** Shows the first sheet of a part. @param {string} part */
function look(part) {
  const n = sheets.findIndex((s) => s.about.includes(part));
  if (n >= 0) show(n + 1);
}

/** The sheets: one line a part, a button a sheet. */
function list() {
  /** @type {Map<string, [string, number][]>} */
  const lines = new Map();
  sheets.forEach((s, i) => {
    const [head, what] = s.title.split(": ");
    const one = s.about.length === 1;
    const line = one ? head : what ? `${what.charAt(0).toUpperCase()}${what.slice(1)}` : head;
    const word = one ? (what ?? "drawing") : what && s.about.length > 1 ? head : "";
    lines.set(line, [...(lines.get(line) ?? []), [word, i + 1]]);
  });
  return [...lines].map(([line, all]) =>
    make("p", {}, make("span", {}, line), " ", ...all.flatMap(([word, n], i) => [
      // What goes on from the sheet before is its number alone.
      make("button", { "data-sheet": n, "aria-label": `${line} ${word}, sheet ${n}`, onclick: () => show(n) }, word && word !== all[i - 1]?.[0] ? `${word} ${n}` : `${n}`), " "])));
}

let wanted = 0;
/** @param {number} n */
async function show(n) {
  if (n < 1 || n > sheets.length) return;
  at = wanted = n;
  const sheet = sheets[n - 1];
  el("make-which").textContent = `${sheet.title}, ${n} of ${sheets.length}`;
  el("make-before").disabled = n === 1;
  el("make-after").disabled = n === sheets.length;
  for (const b of el("make-list").querySelectorAll("button")) {
    if (Number(b.dataset.sheet) === n) b.setAttribute("aria-current", "page"), b.scrollIntoView({ block: "nearest" });
    else b.removeAttribute("aria-current");
  }
  try {
    const got = await get(`sheet/${n}`, paper());
    if (wanted !== n || got.version !== desk.state.version) return;
    el("make-sheet").innerHTML = got.sheet.replace(/<style>[^]*?<\/style>/, "");
  } catch (t) {
    desk.trouble(t);
  }
}

el("make-before").addEventListener("click", () => show(at - 1));
el("make-after").addEventListener("click", () => show(at + 1));
el("make-sheet").addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
  const by = /** @type {Record<string, number>} */ ({ PageDown: 1, PageUp: -1 })[e.key];
  if (!by) return;
  e.preventDefault();
  show(at + by);
});
el("make-paper").addEventListener("change", papers);
desk.on("state", papers);
desk.on("view", papers);
desk.on("picked", () => {
  const what = desk.picked;
  if (shown() && what?.kind === "part" && !sheets[at - 1]?.about.includes(what.name)) look(what.name);
});
