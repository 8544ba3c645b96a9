// @ts-check
/** Fit-up: what the command `parts` says of every element, word for word; picking one lights its part. */

import { desk } from "./desk.js";
import { jump } from "./text.js";
import { el, lines, make, work } from "./wire.js";

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
 * The text in blocks; those of elements and findings can be picked by their first line.
 * @param {string} text @param {any} answer @returns {Element[]}
 */
function blocks(text, answer) {
  const all = text.replace(/\n$/, "").split("\n\n");
  const first = all.findIndex((b) => b.startsWith("What was checked")) + 1;
  return all.map((block, i) => {
    const item = first ? answer.items[i - first] : null;
    const gap = i ? "\n" : "";
    if (!item) return make("pre", { class: "block" }, ...lines(gap + block));
    const end = block.indexOf("\n");
    const [head, rest] = end < 0 ? [block, ""] : [block.slice(0, end), block.slice(end)];
    const missed = item.faults.length > 0 || item.checks.some((/** @type {any} */ c) => !c.passes);
    const go = () => {
      const what = picked(item.about);
      if (what) desk.pick(what);
      jump(undefined, item.about.split(".").slice(0, 2).join("."));
    };
    return make("pre", { class: `block ${missed ? "missed" : ""}` }, gap, make("button", { class: "plain", onclick: go }, head), ...lines(rest));
  });
}

desk.on("state", parts);
desk.on("view", parts);
