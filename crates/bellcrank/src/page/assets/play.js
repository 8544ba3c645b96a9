// @ts-check
/** A drive that runs by itself. Who wants less motion sees two steps a second. */

import { desk } from "./desk.js";

/** @type {{drive: string, perSecond: number, last: number} | null} */
let turning = null;
const calm = matchMedia("(prefers-reduced-motion: reduce)");

/** Lets a drive run, or stops it. @param {string} drive @param {number} perSecond of its unit */
export function play(drive, perSecond) {
  if (turning?.drive === drive) return stop();
  turning = { drive, perSecond, last: performance.now() };
  requestAnimationFrame(frame);
  desk.tell("turning", drive);
}
/** @param {number} perSecond */
export const speed = (perSecond) => {
  if (turning) turning.perSecond = perSecond;
};
export function stop() {
  if (!turning) return;
  turning = null;
  desk.tell("turning", null);
}

/** @param {number} now */
function frame(now) {
  if (!turning) return;
  const knob = desk.state.drives.find((d) => d.name === turning?.drive);
  if (!knob) return stop();
  const wait = calm.matches ? 500 : 0;
  if (!desk.mover.busy && now - turning.last >= wait) {
    const shown = Number(desk.pose?.values?.[knob.name] ?? knob.drawn);
    let next = shown + turning.perSecond * Math.min(0.25, (now - turning.last) / 1000) * (calm.matches ? 2 : 1);
    // One that goes round is counted by the program: some machines are back after several turns only.
    if (!knob.whole_turn && knob.low != null && knob.high != null && (next > knob.high || next < knob.low)) {
      turning.perSecond = -turning.perSecond;
      next = Math.min(knob.high, Math.max(knob.low, next));
    }
    turning.last = now;
    desk.put({ [knob.name]: next }, knob.name);
  }
  requestAnimationFrame(frame);
}

/** Whether a drive runs. */
export const runs = () => turning !== null;

desk.on("trouble", () => {
  // A drive that runs into a dead centre or a stop goes back.
  if (turning) turning.perSecond = -turning.perSecond;
});
