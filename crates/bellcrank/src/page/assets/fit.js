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
    into.replaceChildren(...blocks(got.said, got.report.answer, got.text));
  } catch (t) {
    const it = /** @type {any} */ (t);
    if (!it.status) asked = "";
    into.replaceChildren(make("p", {}, it.sentence ?? ""));
  }
}

/** Rows under a heading, a word in front of each. @param {Node | string} head @param {[string, string][]} rows @param {string} [over] */
const card = (head, rows, over) =>
  make("section", { class: over }, make("h3", {}, head), make("dl", {}, ...rows.map(([word, what]) =>
    make("div", { class: word === "MISSED" ? "missed" : "" }, make("dt", {}, word), make("dd", {}, what)))));

/**
 * What is said piece by piece; elements and findings can be picked.
 * @param {any} said @param {any} answer @param {string} text @returns {Element[]}
 */
function blocks(said, answer, text) {
  if (!said.items.length) return text.trim().split("\n").map((line) => make("p", { class: "whole" }, line));
  const told = answer.findings.filter((/** @type {any} */ f) => f.severity !== "kept").map((/** @type {any} */ f) => finding(f, null));
  return [
    make("p", { class: "whole" }, said.whole),
    make("ul", {}, ...told),
    ...(said.buy.length ? [card("To buy, or to make from stock", said.buy, "over")] : []),
    make("h3", { class: "over" }, "What was checked, each at its worst"),
    ...said.items.map((/** @type {any} */ item) => {
      const go = () => {
        const what = picked(item.about);
        if (what) desk.pick(what);
        jump(undefined, item.about.split(".").slice(0, 2).join("."));
      };
      return card(make("button", { class: "plain", onclick: go }, item.head), item.rows);
    }),
    card("Sources", said.sources),
    make("section", {}, make("h3", {}, "Taken for granted"), ...answer.assumed.map((/** @type {string} */ a) => make("p", {}, a))),
  ];
}

desk.on("state", parts);
desk.on("view", parts);
