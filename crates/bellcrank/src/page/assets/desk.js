// @ts-check
/** The machine that is open: its text, its values, its pose. Everything else on the page looks here and is told of changes. */

import { HUNG_UP, Latest, Trouble, get, me, open, post, say, whenBack, listen, later } from "./wire.js";

/**
 * @typedef {{name: string, low: number|null, high: number|null, drawn: number, unit: string, step: number|null, whole_turn?: boolean, holes?: number|null}} Knob
 * @typedef {{severity: string, message: string, help?: string|null, line?: number, column?: number, end_column?: number}} Problem
 * @typedef {{version: number, text: string, title: string, good: boolean, unit: string, problems: any[], undo: string|null, redo: string|null, drives: Knob[], settings: Knob[], readings: {name: string, unit: string}[], cases: string[], planes: string[], log: string|null, log_file: string, log_undo: string|null, log_redo: string|null, gone: boolean, file: string}} State
 * @typedef {{parts: number[][], points: (number[]|null)[], rods: (number[][]|null)[], springs: (number[][]|null)[]}} Places
 */

/** Words of a link that are no names of drives. */
const WORDS = (document.body.dataset.words ?? "").split(" ");

class Desk extends EventTarget {
  constructor() {
    super();
    /** @type {State} */
    this.state = /** @type {any} */ ({ version: -1, text: "", good: false, problems: [], drives: [], settings: [], readings: [], cases: [], planes: [], log: null, log_file: "", log_undo: null, log_redo: null, gone: false, file: "" });
    this.view = document.body.dataset.view ?? "motion";
    /** Which machine is on show: as drawn (""), "measured" or "built". */
    this.as = "";
    /** Values that differ from the drawing. @type {Record<string, number|string>} */
    this.values = {};
    /** @type {Record<string, string>} */
    this.words = {};
    /** What the last pose answered. @type {any} */
    this.pose = null;
    /** @type {{kind: string, name: string} | null} */
    this.picked = null;
    /** Asked with every pose. @type {Record<string, any>} */
    this.extra = {};
    this.mover = new Latest(
      (/** @type {any} */ want) => post(want.to ? "drag" : "pose", { ...this.extra, ...want, as: this.as, values: want.values ?? this.values }),
      (got, want) => this.moved(got, want),
      (t) => this.trouble(t),
    );
    this.refused = false;
    /** Where the way back leads when a value is refused. @type {Record<string, number|string>} */
    this.reached = {};
    this.link = later(300, () => this.writeLink());
    const settled = later(260, () => {
      this.unsettled = false;
      this.tell("settled");
    });
    this.unsettled = true;
    this.settled = () => {
      this.unsettled = true;
      settled();
    };
  }

  /** Nothing moves, and no answer is waited for. */
  get rests() {
    return Boolean(this.pose) && !this.mover.busy && !this.unsettled && open === 0;
  }

  /** @param {string} kind @param {any} [detail] */
  tell(kind, detail) {
    this.dispatchEvent(new CustomEvent(kind, { detail }));
  }
  /** @param {string} kind @param {(detail: any) => void} then */
  on(kind, then) {
    this.addEventListener(kind, (e) => then(/** @type {CustomEvent} */ (e).detail));
  }

  async open() {
    this.readLink();
    let greeted = false;
    listen((kind, data) => {
      if (kind === "changed" && data.version !== this.state.version) this.refresh();
      if (kind === "machines" || kind === "kept") this.tell(kind);
      // The first greeting comes with the first look.
      if (kind === "hello" && greeted) this.refresh();
      greeted ||= kind === "hello";
    });
    await this.refresh();
    whenBack(() => this.refresh());
    addEventListener("popstate", () => {
      this.readLink();
      this.tell("view");
      this.put({});
    });
  }

  /** Fetches the state anew. */
  async refresh() {
    try {
      this.take(await get("state"));
    } catch (t) {
      this.trouble(t);
    }
  }

  /** @param {State} state */
  take(state) {
    const changed = state.version !== this.state.version;
    this.state = state;
    if (state.log == null) this.as = "";
    if (state.good) {
      const names = [...state.drives, ...state.settings].map((k) => k.name);
      for (const name of Object.keys(this.values)) if (!names.includes(name)) delete this.values[name];
    }
    this.tell("state", changed);
    // While the file has errors the last good machine is there, if there was one.
    if (changed && (state.good || !this.pose)) this.put({});
  }

  /** Puts drives and settings to values. @param {Record<string, number|string>} values @param {string} [runs] the drive that runs on */
  put(values, runs) {
    Object.assign(this.values, values);
    this.mover.want({ values: { ...this.values }, runs });
  }

  /** Shows the machine as drawn, or as its log has it. @param {string} as */
  async become(as) {
    const was = this.as;
    this.as = as;
    try {
      await get("bands", new URLSearchParams({ as }));
      // Settings of a built machine are those of its log.
      const drives = this.state.drives.map((d) => d.name);
      this.values = Object.fromEntries(Object.entries(this.values).filter(([name]) => drives.includes(name)));
      this.put({});
    } catch (t) {
      this.as = was;
      this.trouble(t);
    }
    this.tell("state", true);
  }

  /** @param {any} got @param {any} want */
  moved(got, want) {
    if (!this.mover.next) {
      const all = [...this.state.drives, ...this.state.settings];
      this.values = {};
      for (const k of all) if (k.name in got.values && Math.abs(got.values[k.name] - k.drawn) > 1e-9) this.values[k.name] = got.values[k.name];
    }
    this.reached = { ...this.values };
    this.words = got.words ?? {};
    this.pose = got;
    // What was refused is forgotten as soon as something goes well.
    if (want.to || this.refused) say(got.met ? got.met.sentence : "");
    this.refused = false;
    this.tell("pose", got);
    this.link();
    this.settled();
  }

  /** @param {any} t */
  trouble(t) {
    if (!(t instanceof Trouble)) throw t;
    if (t.status === 0 || t.status === HUNG_UP) return;
    say(t.sentence, true);
    this.refused = true;
    if (this.pose) this.values = { ...this.reached };
    this.tell("trouble", t);
  }

  /**
   * Sends a change of the file; when the file was changed elsewhere meanwhile, again on top of that.
   * @param {string} where @param {object | (() => object | null)} body what is sent, or how it is made from how things stand now
   * @param {string} [said] @returns {Promise<boolean>}
   */
  async send(where, body, said) {
    for (let tries = 0; tries < 3; tries++) {
      const now = typeof body === "function" ? body() : body;
      if (!now) return false;
      try {
        this.take(await post(where, { ...now, base: this.state.version, by: me }));
        if (said) say(said);
        this.refused = false;
        return true;
      } catch (t) {
        if (t instanceof Trouble && t.status === 409 && t.data.state) this.take(t.data.state);
        else {
          this.trouble(t);
          return false;
        }
      }
    }
    return false;
  }

  /** Makes changes to the file. @param {string} what @param {any[]} changes */
  edit(what, changes) {
    return this.send("edit", { say: what, changes }, what);
  }

  /** @param {"undo"|"redo"} which */
  async step(which) {
    const what = this.state[which];
    try {
      this.take(await post(which, { base: this.state.version, by: me }));
      if (what) say(`${which === "undo" ? "Undone" : "Done again"}: ${what}`);
    } catch (t) {
      if (t instanceof Trouble && t.status === 409 && t.data.state) this.take(t.data.state);
      else this.trouble(t);
    }
  }

  /** Lines below a heading of the file: key, value as typed. @param {string} head @returns {Map<string, string>} */
  section(head) {
    const found = new Map();
    let inside = false;
    for (const line of this.state.text.split("\n")) {
      const heading = /^\s*\[([^\]]+)\]/.exec(line);
      if (heading) inside = heading[1].trim() === head;
      const pair = inside && /^\s*([\w.-]+)\s*=\s*(.*)$/.exec(line);
      if (pair) found.set(pair[1], pair[2].replace(/\s+#[^"'\]}]*$/, "").trim());
    }
    return found;
  }

  /** @param {{kind: string, name: string} | null} what */
  pick(what) {
    this.picked = what;
    this.tell("picked");
  }

  /** The values as words of a query. @param {Record<string, string>} [more] */
  query(more = {}) {
    const q = new URLSearchParams(this.as ? { as: this.as } : {});
    for (const [name, value] of Object.entries(this.values)) q.set(`at.${name}`, this.words[name] ?? String(value));
    for (const [name, value] of Object.entries(more)) if (value) q.append(name, value);
    return q;
  }

  writeLink() {
    const q = new URLSearchParams(this.as ? { as: this.as } : {});
    for (const name of Object.keys(this.values)) q.set(WORDS.includes(name) ? `at.${name}` : name, this.words[name] ?? String(this.values[name]));
    const query = q.toString().replaceAll("+", "%20");
    const here = `/m/${encodeURIComponent(document.body.dataset.machine ?? "")}/${this.view}${query ? `?${query}` : ""}`;
    if (here !== location.pathname + location.search) history.replaceState(null, "", here);
  }

  readLink() {
    this.view = location.pathname.split("/").pop() || "motion";
    this.values = {};
    this.as = new URLSearchParams(location.search).get("as") ?? "";
    for (const [name, value] of new URLSearchParams(location.search)) {
      if (name.startsWith("at.")) this.values[name.slice(3)] = value;
      else if (!WORDS.includes(name)) this.values[name] = value;
    }
  }

  /** @param {string} view */
  show(view) {
    if (view === this.view) return;
    this.writeLink();
    this.view = view;
    history.pushState(null, "", `/m/${encodeURIComponent(document.body.dataset.machine ?? "")}/${view}${location.search}`);
    this.tell("view");
  }
}

export const desk = new Desk();
