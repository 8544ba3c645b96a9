"""A slider-crank run in time by scipy: reference for runs with friction (crates/mechanics/tests/all/dynamics.rs, crates/studies/src/cycle).

python3 checks/running.py

Equations written out by hand: massless rod of length L on a crank of radius R, fly-wheel J on the crank, slider m pushed back by a force that
changes sides with its motion, Coulomb friction mu on the side force of the guide, motor line T0 (1 - w/w0) on the crank. N, mm, kg, s.
"""

from math import cos, sin, sqrt

from scipy.integrate import solve_ivp

R, L = 40.0, 130.0
J, M = 4000.0, 1.2
FORCE, MU = 20.0, 0.2
T0, W0 = 1500.0, 25.0


def rates(a):
    """First and second rate of the slider's place by the crank's angle, and the slope of the rod."""
    s, c = sin(a), cos(a)
    q = sqrt(L * L - R * R * s * s)
    first = -R * s - R * R * s * c / q
    second = -R * c - R * R * (c * c - s * s) / q - (R * R * s * c) ** 2 / q**3
    return first, second, R * s / q


def acceleration(a, w, motor=True):
    first, second, slope = rates(a)
    way = 1.0 if first * w > 0 else -1.0
    # P: push of the rod along the guide; P = m x'' + way (FORCE + MU |P slope|). The side of the friction goes with the sign of P.
    found = []
    for side in (1.0, -1.0):
        share = 1.0 - way * MU * side * abs(slope)
        # P = (m (first e + second w^2) / 1000 + way FORCE) / share;  J e / 1000 = T - P first
        drive = T0 * (1 - w / W0) if motor else 0.0
        e = (drive - first * (M * second * w * w / 1000 + way * FORCE) / share) / (
            J / 1000 + M * first * first / 1000 / share
        )
        push = (M * (first * e + second * w * w) / 1000 + way * FORCE) / share
        if push * side >= 0:
            found.append(e)
    return found[0]


def run(times, motor=True, start=(0.3, 0.0)):
    # Stops at each dead centre, where the friction changes sides.
    from math import pi

    out = {}
    state, now = list(start), 0.0
    while len(out) < len(times):
        nxt = (state[0] // pi + 1) * pi
        if nxt - state[0] < 1e-12:
            nxt += pi

        def end(_, y, nxt=nxt):
            return y[0] - nxt

        end.terminal, end.direction = True, 1

        def rest(_, y):
            return y[1] - 1e-9

        rest.terminal, rest.direction = True, -1
        # The side of the dead centre that is run into, also at its very place.
        def f(_, y, low=nxt - pi, high=nxt):
            a = min(max(y[0], low + 1e-13), high - 1e-13)
            return [y[1], acceleration(a, max(y[1], 1e-12), motor)]

        solved = solve_ivp(f, [now, times[-1]], state, method="DOP853", rtol=1e-12, atol=1e-13, events=[end, rest], dense_output=True)
        for t in times:
            if now <= t <= solved.t[-1] and t not in out:
                out[t] = solved.sol(t)
        if solved.t_events[1].size or solved.status == 0:
            return out, (solved.t[-1], solved.y[:, -1])
        now, state = solved.t[-1], list(solved.y[:, -1])
        state[0] = nxt
    return out, (now, state)


if __name__ == "__main__":
    times = [0.05, 0.2, 0.5, 1.0]
    out, _ = run(times)
    for t in times:
        print(f"[{t}, {out[t][0]:.12f}, {out[t][1]:.12f}],")
    # Time and speed half a turn, one turn and two turns on.
    from math import pi

    from scipy.optimize import brentq

    for on in (pi, 2 * pi, 4 * pi):

        def miss(t, on=on):
            return run([t])[0][t][0] - 0.3 - on

        t = brentq(miss, 0.05, 2.0, xtol=1e-13)
        print(f"[{on / pi:.0f}, {t:.12f}, {run([t])[0][t][1]:.12f}],")
    # Let go at 20 rad/s without the motor: where and when it stands.
    _, (t, y) = run([100.0], motor=False, start=(0.3, 20.0))
    print("stands after", t, "at", y[0])
