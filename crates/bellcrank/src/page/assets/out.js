// @ts-check
/** Taking out: files of what the view shows, as the commands write them. */

import { desk } from "./desk.js";
import { second, turnQuery } from "./turn.js";
import { el, exported } from "./wire.js";

/** Files of the machine as it stands, whatever the view shows. */
const DRAWN = /^(drawing|packet)/;

/** What a file is to show: readings over a drive, what that needs, the whole turn, or the fit to the log. @param {string} file @returns {URLSearchParams} */
function query(file) {
  if (DRAWN.test(file)) return desk.query();
  if (desk.view === "cycle") return turnQuery(file.startsWith("map") ? { by: second() } : { of: "cycle" });
  if (desk.view === "dial-in") {
    const q = desk.query({ of: "dial-in" });
    q.delete("as");
    return q;
  }
  if (desk.view === "brief" && file.startsWith("answer")) return desk.query({ of: "check" });
  const drive = el("over").value;
  const q = desk.query({ drive, ...(desk.view === "load" ? { of: "load" } : { reading: el("of").value }) });
  q.delete(`at.${drive}`);
  return q;
}

el("out").addEventListener("toggle", () => {
  const cycle = desk.view === "cycle";
  for (const a of el("out").querySelectorAll("a")) {
    const file = a.dataset.file ?? "";
    const none = file.startsWith("map") && !(cycle && second());
    a.parentElement.hidden = none;
    if (!none) a.href = exported(file, query(file));
  }
});
el("print").addEventListener("click", () => print());
