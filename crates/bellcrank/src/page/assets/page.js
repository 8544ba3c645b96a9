// @ts-check
/** The page: views, keys, the list of machines. */

import { board, keys } from "./board.js";
import { finish, take } from "./build.js";
import { desk } from "./desk.js";
import { toggleRun } from "./knobs.js";
import "./curves.js";
import "./dial.js";
import "./fit.js";
import "./make.js";
import "./meet.js";
import "./out.js";
import { gone } from "./picked.js";
import { stop } from "./play.js";
import "./tell.js";
import "./text.js";
import "./turn.js";
import { Trouble, el, get, later, machine, make, post, say, stopWork } from "./wire.js";

// --- views ----------------------------------------------------------------------------------------------------------------------

function view() {
  document.body.dataset.view = desk.view;
  document.title = `${desk.state.title ?? machine} – ${desk.view}`;
  for (const a of document.querySelectorAll("nav a")) {
    const on = /** @type {HTMLElement} */ (a).dataset.view === desk.view;
    if (on) a.setAttribute("aria-current", "page");
    else a.removeAttribute("aria-current");
  }
}
for (const a of document.querySelectorAll("nav a")) {
  a.addEventListener("click", (e) => {
    const m = /** @type {MouseEvent} */ (e);
    if (m.ctrlKey || m.metaKey || m.shiftKey || m.button) return;
    e.preventDefault();
    desk.show(/** @type {HTMLElement} */ (a).dataset.view ?? "motion");
  });
}
desk.on("view", view);

// --- machines -------------------------------------------------------------------------------------------------------------------

async function machines() {
  try {
    const got = await get("/api/machines");
    const all = got.machines ?? got;
    const twice = (/** @type {any} */ m) => all.some((/** @type {any} */ o) => o !== m && o.title === m.title);
    for (const m of all) if (twice(m)) m.called = `${m.title}, ${m.name}`;
    for (const m of all) m.title = m.called ?? m.title;
    el("machines").replaceChildren(...all.map((/** @type {any} */ m) => make("option", { value: m.name, selected: m.name === machine }, m.problems ? `${m.title} (${m.problems} ${m.problems === 1 ? "problem" : "problems"})` : m.title)));
    el("machines").value = machine;
  } catch (t) {
    desk.trouble(t);
  }
}
el("as").addEventListener("change", () => desk.become(el("as").value));
desk.on("state", () => {
  el("as").hidden = desk.state.log == null;
  el("as").value = desk.as;
});
el("machines").addEventListener("change", () => {
  location.href = `/m/${encodeURIComponent(el("machines").value)}/${desk.view}`;
});
el("new-form").addEventListener("submit", async (/** @type {SubmitEvent} */ e) => {
  e.preventDefault();
  const form = new FormData(/** @type {HTMLFormElement} */ (e.target));
  const title = form.get("name");
  try {
    const got = await post("/api/new", { name: String(title), starter: "empty", unit: form.get("unit") });
    location.href = `/m/${encodeURIComponent(got.name)}/motion`;
  } catch (t) {
    if (!(t instanceof Trouble)) throw t;
    say(t.sentence, true);
    el("new-form").querySelector("p").textContent = t.sentence;
  }
});
desk.on("machines", machines);
const again = later(1500, machines);
desk.on("state", (changed) => changed && again());
desk.on("state", () => {
  view();
  for (const which of /** @type {const} */ (["undo", "redo"])) {
    const what = desk.state[which];
    el(which).disabled = !what;
    el(which).title = what ? `${which === "undo" ? "Undo" : "Do again"}: ${what} (${which === "undo" ? "Ctrl+Z" : "Ctrl+Shift+Z"})` : "";
  }
  stamp();
  if (desk.state.title) document.querySelectorAll("h1").forEach((h) => (h.textContent = desk.state.title));
});
/** What a print bears: the file, where everything stands, the day. */
function stamp() {
  const stands = Object.entries(desk.pose?.words ?? {}).map(([name, words]) => `${name} ${words}`);
  el("printed").textContent = [desk.state.file, ...stands, new Date().toLocaleDateString("en-CA")].join(" · ");
}
addEventListener("beforeprint", stamp);
desk.on("settled", stamp);
el("busy").querySelector("button").addEventListener("click", stopWork);
el("undo").addEventListener("click", () => desk.step("undo"));
el("redo").addEventListener("click", () => desk.step("redo"));

// --- keys -----------------------------------------------------------------------------------------------------------------------

const tools = Object.fromEntries([...el("tools").querySelectorAll("button")].map((b) => [b.getAttribute("aria-keyshortcuts").toLowerCase(), b.dataset.tool]));

addEventListener("keydown", (e) => {
  const at = /** @type {HTMLElement} */ (e.target);
  const writes = at.matches("input:not([type=range]):not([type=checkbox]), textarea, select");
  const key = e.key.toLowerCase();
  if ((e.ctrlKey || e.metaKey) && (key === "z" || key === "y") && !at.matches("textarea")) {
    // A field in which nothing is being typed has nothing of its own to undo.
    const field = /** @type {HTMLInputElement} */ (at);
    if (writes && !(at.matches("[data-undoes]") && field.value === field.defaultValue)) return;
    e.preventDefault();
    const which = e.shiftKey || key === "y" ? "redo" : "undo";
    // The log has steps of its own.
    if (at.closest("#dial")) desk.send(`log/${which}`, {});
    else desk.step(which);
    return;
  }
  if (writes || e.ctrlKey || e.metaKey || e.altKey) return;
  if (e.key === "Escape") {
    take("move");
    desk.pick(null);
  } else if (e.key === "Enter" && at.id === "plate") finish();
  else if (e.key === "Delete" && !at.matches("button, a")) gone();
  else if (e.key === " " && !at.matches("button, a, summary, input")) toggleRun();
  else if (tools[e.key.toLowerCase()] && !e.shiftKey) take(tools[e.key.toLowerCase()]);
  else if (keys[e.key] && !at.matches("input")) keys[e.key]();
  else return;
  e.preventDefault();
});
el("new").addEventListener("toggle", () => {
  if (!el("new").open) return;
  el("new").querySelector("input").focus();
  el("new").querySelector("select").value = desk.state.unit || "mm";
});
// Menus close when the focus or the pointer goes elsewhere.
for (const menu of [el("new"), el("out")]) {
  document.addEventListener("pointerdown", (e) => menu.contains(/** @type {Node} */ (e.target)) || (menu.open = false));
  menu.addEventListener("keydown", (/** @type {KeyboardEvent} */ e) => {
    if (e.key !== "Escape") return;
    menu.open = false;
    menu.querySelector("summary").focus();
    e.stopPropagation();
  });
}
document.addEventListener("visibilitychange", () => document.hidden && stop());

void board;
view();
machines();
desk.open();
