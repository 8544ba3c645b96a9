// @ts-check
/** Talking with the program: requests, troubles, and news of changes. */

export const machine = document.body.dataset.machine ?? "";
export const here = `/api/m/${encodeURIComponent(machine)}/`;
/** Tells this window's own changes from others'. */
export const me = `page ${Math.random().toString(36).slice(2, 8)}`;

/** A request that was not answered as hoped: one sentence, what to do, and whatever came with it. */
export class Trouble extends Error {
  /** @param {number} status @param {any} data */
  constructor(status, data) {
    super(data?.error ?? "the program is not answering");
    this.status = status;
    this.what = data?.what_to_do ?? "";
    this.data = data ?? {};
  }
  get sentence() {
    return this.what ? `${this.message}; ${this.what}` : this.message;
  }
}

/** Why a request that was hung up has no answer. */
export const HUNG_UP = 499;

/** Requests on their way. */
export let open = 0;

/** @param {string} path @param {RequestInit} [how] @returns {Promise<any>} */
async function fetched(path, how) {
  open++;
  try {
    return await answered(path, how);
  } finally {
    open--;
  }
}

/** @param {string} path @param {RequestInit} [how] @returns {Promise<any>} */
async function answered(path, how) {
  let answer;
  try {
    answer = await fetch(path, how);
  } catch {
    if (how?.signal?.aborted) throw new Trouble(HUNG_UP, { error: "Stopped" });
    gone(true);
    throw new Trouble(0, null);
  }
  gone(false);
  const data = await answer.json().catch(() => null);
  if (!answer.ok) throw new Trouble(answer.status, data);
  return data;
}

/** @param {string} path @param {URLSearchParams | string} [query] */
export const get = (path, query = "") => fetched(`${path.startsWith("/") ? path : here + path}?${query}`);

/** @param {string} path @param {object} body */
export const post = (path, body) =>
  fetched(path.startsWith("/") ? path : here + path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(body),
  });

/** Long answers that are waited for, and how long the last of their kind took, ms. @type {Map<string, {stop: AbortController, begun: number}>} */
const works = new Map();
/** @type {Map<string, number>} */
const took = new Map();

/**
 * A request that may take long: shown while it goes on, and to be stopped. One of a kind at a time; an older one is given up, and the
 * program, which notices, leaves off.
 * @param {string} kind in words @param {string} path @param {URLSearchParams | string} [query] @returns {Promise<any>}
 */
export async function work(kind, path, query = "") {
  works.get(kind)?.stop.abort();
  const it = { stop: new AbortController(), begun: performance.now() };
  works.set(kind, it);
  busy();
  try {
    const got = await fetched(`${here}${path}?${query}`, { signal: it.stop.signal });
    took.set(kind, performance.now() - it.begun);
    return got;
  } finally {
    if (works.get(kind) === it) works.delete(kind);
  }
}

let watching = 0;
/** Tells what is being worked out, once it takes longer than a moment, and about how long it will take. */
function busy() {
  if (watching) return;
  watching = window.setInterval(() => {
    const now = performance.now();
    const long = [...works].filter(([, it]) => now - it.begun > 600);
    const line = el("busy");
    line.hidden = long.length === 0;
    const words = long.map(([kind, it]) => {
      const gone = (now - it.begun) / 1000;
      const left = (took.get(kind) ?? 0) / 1000 - gone;
      return `${kind}: ${left > 0.5 ? `about ${Math.ceil(left)} s left` : `${Math.floor(gone)} s so far`}`;
    });
    line.querySelector("output").textContent = words.join("; ");
    if (works.size === 0) {
      clearInterval(watching);
      watching = 0;
    }
  }, 250);
}
/** Stops everything that is waited for. */
export function stopWork() {
  for (const it of works.values()) it.stop.abort();
}

/** @param {string} path */
export const remove = (path) => fetched(path, { method: "DELETE" });

/** @param {string} file @param {URLSearchParams} query */
export const exported = (file, query) => `${here}export/${file}?${query}`;

let away = false;
/** @type {(() => void)[]} */
const returns = [];
/** Called when the program is back after it was gone. @param {() => void} then */
export const whenBack = (then) => returns.push(then);

/** @param {boolean} is */
function gone(is) {
  if (is === away) return;
  away = is;
  const note = document.getElementById("gone");
  if (note) note.hidden = !is;
  document.body.classList.toggle("away", is);
  if (!is) returns.forEach((then) => then());
}

/** News from the program. @param {(kind: string, data: any) => void} told */
export function listen(told) {
  const news = new EventSource(`/api/events?m=${encodeURIComponent(machine)}`);
  for (const kind of ["changed", "machines", "kept", "hello"]) {
    news.addEventListener(kind, (e) => {
      gone(false);
      let data = {};
      try {
        data = JSON.parse(/** @type {MessageEvent} */ (e).data || "{}");
      } catch {
        // News without data is news all the same.
      }
      told(kind, data);
    });
  }
  news.onopen = () => gone(false);
  news.onerror = () => {
    gone(true);
    // A browser gives up on a program that refuses it, as one does that was started anew; its link may be opened any moment.
    if (news.readyState === EventSource.CLOSED) setTimeout(() => listen(told), 1000);
  };
}

/**
 * Runs one request at a time; of those that come meanwhile only the latest. The picture never lags behind a queue.
 * @template A @template B
 */
export class Latest {
  /** @param {(want: A) => Promise<B>} run @param {(got: B, want: A) => void} then @param {(t: Trouble) => void} fail */
  constructor(run, then, fail) {
    Object.assign(this, { run, then, fail });
    this.run = run;
    this.then = then;
    this.fail = fail;
    this.busy = false;
    /** @type {A | undefined} */
    this.next = undefined;
  }
  /** @param {A} want */
  async want(want) {
    if (this.busy) {
      this.next = want;
      return;
    }
    this.busy = true;
    try {
      this.then(await this.run(want), want);
    } catch (t) {
      if (!(t instanceof Trouble)) throw t;
      this.fail(t);
    } finally {
      this.busy = false;
      const next = this.next;
      this.next = undefined;
      if (next !== undefined) this.want(next);
    }
  }
}

/** @param {string} id @returns {any} */
export const el = (id) => document.getElementById(id);

/**
 * Makes an element. @param {string} tag @param {Record<string, any>} [has] @param {...(Node | string)} inner @returns {any}
 */
export function make(tag, has = {}, ...inner) {
  const e = document.createElement(tag);
  for (const [key, value] of Object.entries(has)) {
    if (key.startsWith("on")) e.addEventListener(key.slice(2), value);
    else if (value === true) e.setAttribute(key, "");
    else if (value !== false && value != null) e.setAttribute(key, String(value));
  }
  e.append(...inner);
  return e;
}

/** Makes an SVG element. @param {string} tag @param {Record<string, any>} [has] @returns {any} */
export function draw(tag, has = {}) {
  const e = document.createElementNS("http://www.w3.org/2000/svg", tag);
  for (const [key, value] of Object.entries(has)) e.setAttribute(key, String(value));
  return e;
}

/** Puts plots into an element, dressed by the page instead of by its own style sheet. @param {Element} into @param {string | undefined} svg */
export function figure(into, svg) {
  into.innerHTML = (svg ?? "").replace(/<style>[^]*?<\/style>/g, "");
  into.querySelectorAll("svg").forEach((s) => s.classList.add("curve"));
}

/**
 * Puts what a command says into an element, letter by letter. Tables keep their columns; on a narrow screen sentences run as wide as it is.
 * @param {Element} into @param {string} text
 */
export function words(into, text) {
  into.replaceChildren(...text.split(/(?<=\n\n)/).map((block) => make("span", { class: "block" }, ...lines(block))));
}

/** A block of them, line by line, or whole when it is a table. @param {string} block @returns {Element[]} */
export function lines(block) {
  const rows = /\S {2,}\S.* {2,}\S/.test(block);
  const pieces = rows ? [block] : block.split(/(?<=\n)(?= {0,3}\S| +try:)/);
  return pieces.map((piece) => make("span", { class: rows ? "rows" : "line" }, piece));
}

/** How much paper there is for plots in an element, as a request says it: steps of 4 mm, so that it is not drawn anew for every pixel. @param {Element} into */
export const room = (into) => `${Math.floor(into.clientWidth / (96 / 25.4) / 4) * 4},100`;

/** Fills a list, and keeps what is chosen. @param {string} id @param {string | null} none what stands for none of them @param {(string | {name: string})[]} all */
export function options(id, none, all) {
  const list = el(id);
  const names = all.map((x) => (typeof x === "string" ? x : x.name));
  const kept = list.value;
  list.replaceChildren(...(none == null ? [] : [make("option", { value: "" }, none)]), ...names.map((name) => make("option", {}, name)));
  list.value = names.includes(kept) ? kept : none == null ? (names[0] ?? "") : "";
}

/** Says one thing at the foot of the board. @param {string} words @param {boolean} [bad] */
export function say(words, bad = false) {
  const at = el("say");
  if (at.textContent !== words) at.textContent = words || "\u00a0";
  at.classList.toggle("bad", bad);
}

/** Calls once, a while after the last call. @param {number} ms @param {() => void} then */
export function later(ms, then) {
  let timer = 0;
  return () => {
    clearTimeout(timer);
    timer = window.setTimeout(then, ms);
  };
}
