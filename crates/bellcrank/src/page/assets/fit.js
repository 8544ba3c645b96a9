// @ts-check
/** Fit-up: what the command `parts` says of every element; picking one lights its part. */

import { desk } from "./desk.js";
import { jump } from "./text.js";
import { finding } from "./tell.js";
import { el, make, work } from "./wire.js";

/** What something is headed by in the file, as it can be picked. @param {string} about @returns {{kind: string, name: string} | null} */
export function picked(about) {
  const [kind, name] = about.split(".");
  if (!name) return null;
  if (kind === "shaft") return { kind: "part", name };
  return kind === "joint" ? { kind: "point", name } : { kind, name };
}

let asked = "";
async function parts() {
  el("fitup").hidden = desk.view !== "fit-up";
  if (el("fitup").hidden || !desk.state.good || asked === `${desk.state.version} ${desk.as}`) return;
  asked = `${desk.state.version} ${desk.as}`;
  const into = el("fit-text");
  try {
    const got = await work("Fit-up", "parts", new URLSearchParams({ as: desk.as }));
    if (got.version !== desk.state.version) return;
    into.replaceChildren(...blocks(got.text, got.report.answer));
  } catch (t) {
    const it = /** @type {any} */ (t);
    if (!it.status) asked = "";
    into.replaceChildren(make("p", {}, it.sentence ?? ""));
  }
}

/**
 * Lines of a block as rows: a word in front, and what goes with it unwrapped.
 * @param {string[]} rows @param {RegExp} begins the word, and the rest of the line @returns {[string, string][]}
 */
function pairs(rows, begins) {
  /** @type {[string, string][]} */
  const all = [];
  for (const row of rows) {
    const found = begins.exec(row);
    const last = all[all.length - 1];
    if (found) all.push([found[1], found[2]]);
    else if (last) last[1] += ` ${row.trim()}`;
  }
  return all;
}

/** Rows under a heading. @param {Node | string} head @param {[string, string][]} rows @param {string} [over] */
const card = (head, rows, over) =>
  make("section", { class: over }, make("h3", {}, head), make("dl", {}, ...rows.map(([word, what]) =>
    make("div", { class: word === "MISSED" ? "missed" : "" }, make("dt", {}, word), make("dd", {}, what)))));

/**
 * The text piece by piece, unwrapped; elements and findings can be picked.
 * @param {string} text @param {any} answer @returns {Element[]}
 */
function blocks(text, answer) {
  const [whole, ...all] = text.replace(/\n$/, "").split("\n\n");
  const first = all.findIndex((b) => b.startsWith("What was checked")) + 1;
  const told = answer.findings.filter((/** @type {any} */ f) => f.severity !== "kept").map((/** @type {any} */ f) => finding(f, null));
  return [make("p", { class: "whole" }, whole), make("ul", {}, ...told), ...all.flatMap((block, i) => {
    const [head, ...rest] = block.split("\n");
    const item = first ? answer.items[i - first] : null;
    if (head.startsWith("To buy")) return [card(head, pairs(rest, /^ {1,4}(\d+) +(.*)$/), "over")];
    if (head === "Sources") return [card(head, pairs(rest, /^ {2}(\[\d+\]) +(.*)$/))];
    if (head === "Taken for granted") return [make("section", {}, make("h3", {}, head), ...answer.assumed.map((/** @type {string} */ a) => make("p", {}, a)))];
    if (!item) return /^(fault|MISSED|caution|note)/i.test(block) ? [] : [make("h3", { class: "over" }, block)];
    const go = () => {
      const what = picked(item.about);
      if (what) desk.pick(what);
      jump(undefined, item.about.split(".").slice(0, 2).join("."));
    };
    return [card(make("button", { class: "plain", onclick: go }, head), pairs(rest, /^ {2}(\S+) +(.*)$/))];
  })];
}

desk.on("state", parts);
desk.on("view", parts);
