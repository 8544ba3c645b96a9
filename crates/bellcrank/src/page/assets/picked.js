// @ts-check
/** Exact values of what is picked, and taking it out. */

import { desk } from "./desk.js";
import { el, make, me, post, say } from "./wire.js";
import { fresh, parts, set, text } from "./written.js";

/** Keys and values of an inline table; none when the text is no such table. @param {string} table @returns {[string, string][]} */
function entries(table) {
  const inner = /^\{(.*)\}$/.exec(table.trim())?.[1];
  if (inner == null) return [];
  const all = [""];
  let deep = 0;
  let quoted = false;
  for (const c of inner) {
    if (c === '"') quoted = !quoted;
    if (!quoted) deep += "[{".includes(c) ? 1 : "]}".includes(c) ? -1 : 0;
    if (c === "," && !deep && !quoted) all.push("");
    else all[all.length - 1] += c;
  }
  return all.flatMap((pair) => {
    const found = /^\s*([\w-]+)\s*=\s*(.*?)\s*$/.exec(pair);
    return found ? [/** @type {[string, string]} */ ([found[1], found[2]])] : [];
  });
}

/** A value as it stands in the file: what is no number, list, table or text already is put in quotes. @param {string} typed */
const value = (typed) => (/^\s*([[{"']|[-+]?\d+(\.\d+)?\s*$|true|false)/.test(typed) ? typed : text(typed.trim()));

function inspect() {
  const box = el("picked");
  const what = desk.picked;
  box.hidden = !what;
  if (!what) return;
  const { kind, name } = what;
  const shaft = kind === "part" && parts().find((p) => p.name === name)?.shaft;
  const table = shaft ? "shaft" : kind;
  const own = desk.section("point").get(name);
  // A constructed point shows what it is constructed from, entry by entry; everything else the lines below its heading.
  const parsed = kind === "point" && own ? entries(own) : [];
  /** @type {[string, string, string[]][]} */
  const rows = kind !== "point" ? [...desk.section(`${table}.${name}`)].map(([k, v]) => [k, v, [table, name, ...k.split(".")]]) : parsed.length ? parsed.map(([k, v]) => [k, v, ["point", name, k]]) : own ? [["place", own, ["point", name]]] : [];
  if (kind === "point" && !rows.length) for (const [k, v] of desk.section(`row.${name}`)) rows.push([k, v, ["row", name, k]]);
  const plain = (/** @type {string} */ typed) => typed.replace(/^"([^"]*)"$/, "$1");
  // A field in which somebody types is left alone; one that merely has the focus keeps it.
  if (box.contains(document.activeElement) && box.dataset.what === `${kind}.${name}`) {
    for (const [, now, at] of rows) {
      const input = /** @type {HTMLInputElement | null} */ (box.querySelector(`[data-at="${at.join(".")}"]`));
      if (input && input.value === input.defaultValue) input.value = input.defaultValue = plain(now);
    }
    return;
  }
  box.dataset.what = `${kind}.${name}`;
  const field = (/** @type {any} */ [key, now, at]) => {
    const whole = now.startsWith("[") === now.includes("]") || !now.startsWith("[");
    const input = make("input", { value: plain(now), "data-at": at.join("."), "data-undoes": "", autocomplete: "off", spellcheck: "false", disabled: !whole, title: whole ? "" : "Stands on several lines: change it in the file below" });
    input.addEventListener("change", () => (input.value.trim() ? desk.edit(`${name}: ${key} ${input.value}`, [set(at, value(input.value))]).then((ok) => (ok ? (input.defaultValue = input.value) : (input.value = input.defaultValue))) : (input.value = input.defaultValue)));
    return make("label", { class: now.length > 22 ? "long" : null }, key, input);
  };
  const called = make("input", { value: name, autocomplete: "off", spellcheck: "false" });
  called.addEventListener("change", async () => {
    const to = called.value.trim().toLowerCase().replaceAll(/\s+/g, "-");
    if (to && to !== name && (await desk.edit(`${name} is now ${to}`, [{ rename: { kind, from: name, to } }]))) desk.pick({ kind, name: to });
    else called.value = name;
  });
  const known = kind === "part" && name === "frame" ? [] : [make("label", {}, "name", called)];
  const remove = make("button", { onclick: () => gone(), title: "Delete" }, `Take out ${name}`);
  const reading = desk.pose?.readings?.find((/** @type {any} */ r) => r.reading.name === name);
  const ask = kind !== "reading" || !reading?.words ? [] : [make("button", {
    title: "Ask for a range of it; type the range you want",
    onclick: async () => {
      const wish = fresh(name);
      if (await desk.edit(`asked for ${name}`, [set(["ask", wish, "reading"], text(name)), set(["ask", wish, "at-least"], text(reading.words))])) desk.pick({ kind: "ask", name: wish });
    },
  }, "Ask for it")];
  box.replaceChildren(make("h2", {}, `${kind[0].toUpperCase()}${kind.slice(1)} ${name}`), ...known, ...rows.map(field), ...ask, ...(name === "frame" ? [] : [remove]));
}

/** What was told to go with what is picked, when it is taken out at the second word. */
let warned = "";

/** Takes out what is picked, with what cannot be without it: that is told first. */
export async function gone() {
  const what = desk.picked;
  if (!what || what.name === "frame") return;
  const { kind, name } = what;
  const changes = [];
  if (kind === "point") {
    for (const p of parts()) {
      const at = p.carries.indexOf(name);
      if (at >= 0) changes.push({ remove: { at: [p.name === "frame" ? "frame" : p.shaft ? "shaft" : "part", ...(p.name === "frame" ? [] : [p.name]), "carries", String(at)] } });
    }
  }
  const shaft = kind === "part" && parts().find((p) => p.name === name)?.shaft;
  changes.push({ remove: { at: kind === "point" && !desk.section("point").has(name) ? ["row", name] : [shaft ? "shaft" : kind, name] } });
  /** @type {string[][]} */
  const also = [];
  for (let round = 0; round < 60; round++) {
    try {
      await post("edit", { base: desk.state.version, say: "", changes: [...changes, ...also.map((at) => ({ remove: { at } }))], only_try: true, by: me });
      break;
    } catch (t) {
      const needed = /** @type {any} */ (t).data?.needed_by ?? [];
      const more = needed.map(whole).filter((/** @type {string[]} */ at) => !also.some((a) => `${a}` === `${at}`));
      if (!more.length) return desk.trouble(t);
      also.push(...more);
    }
  }
  const with_ = also.map((at) => at.join(" ")).join(", ");
  if (also.length && warned !== `${name}: ${with_}`) {
    warned = `${name}: ${with_}`;
    return say(`With ${name} go ${with_}. Take out ${name} again if all of that is to go`, true);
  }
  warned = "";
  if (await desk.edit(`took out ${name}${with_ ? ` with ${with_}` : ""}`, [...changes, ...also.map((at) => ({ remove: { at } }))])) desk.pick(null);
}

/** What has to go where something is missing: a hole of a part or a point alone, else all below its heading. @param {string[]} at */
function whole(at) {
  if (at[0] === "point") return at.slice(0, 2);
  if (["part", "shaft"].includes(at[0])) return at[2] && at[2] !== "carries" ? at : at.slice(0, 2);
  return ["frame", "usual"].includes(at[0]) ? at : at.slice(0, 2);
}

desk.on("picked", inspect);
desk.on("state", inspect);
