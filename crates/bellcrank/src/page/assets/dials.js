// @ts-check
/** Dials: what a turn is in a unit, and where on its dial a value stands. */

/** A turn in this unit. @param {string} unit */
export const turnOf = (unit) => (unit === "deg" ? 360 : unit === "turn" ? 1 : 2 * Math.PI);

/** A value on the dial that begins at `low`; at its end stands what is a whole turn further. @param {number} v @param {number} low @param {number} turn */
export function onDial(v, low, turn) {
  if (v >= low - 1e-9 && v <= low + turn + 1e-9) return v;
  return low + ((((v - low) % turn) + turn) % turn);
}
