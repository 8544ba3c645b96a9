"""The seven-body mechanism run in time by scipy: driven and let go (crates/mechanics/tests/all/dynamics.rs).

python3 checks/squeezer.py

Andrews' squeezing mechanism (IVP test set, CWI/Bari; Hairer and Wanner, Solving ODE II). Written as a machine of one freedom: the three loops are
closed as sums of arms in the complex plane and differentiated twice, and Lagrange's equation of the crank's angle is integrated by a general
integrator. The driven run is held against the state published for 0.03 s. N, mm, kg, s.
"""

import numpy as np
from scipy.integrate import solve_ivp

A, B, C = -69.34 - 2.27j, -36.35 + 32.73j, 14 + 72j
RATE, FREE = 4.53, 77.85
# Arm, mass, inertia (kg mm²) and centre of mass in its own axes of each body.
BODIES = [
    (0.04325, 2.194, 0.92 + 0j),
    (0.00365, 0.4410, 11.5 + 0j),
    (0.02373, 5.255, 10.43 - 18.74j),
    (0.00706, 0.5667, 20 - 14.21 + 0j),
    (0.07050, 11.69, 23.08 + 9.16j),
    (0.00706, 0.5667, 20 - 14.21 + 0j),
    (0.05498, 19.12, 12.28 - 4.49j),
]
BETA = -0.06171389001427645
THETA, GAMMA, PHI, DELTA, OMEGA, EPSILON = (
    0.0,
    0.4552798191630704,
    0.22266839016588588,
    0.48736497954384254,
    -0.22266839016588588,
    1.2305474445498212,
)
START = np.array([BETA + THETA + np.pi, GAMMA, PHI + DELTA - np.pi / 2, DELTA, OMEGA + EPSILON, EPSILON])
PUBLISHED = [
    15.81077119629904,
    -15.75637105984298,
    0.04082224013073101,
    -0.5347301163226948,
    0.5244099658805304,
    0.5347301163226948,
    1.048080741042263,
]

# Each loop as (arm, body); bodies 0 to 6 are the crank, its rod, the bell, and two legs with their knees.
LOOPS = [
    ([(7, 0), (28, 1), (35j, 2)], -B),
    ([(7, 0), (28, 1), (-40, 4), (-20, 3)], -A),
    ([(7, 0), (28, 1), (40j, 6), (-20, 5)], -A),
]


def closed(beta, guess):
    """The other six angles, by Newton's method."""
    x = guess.copy()
    for _ in range(50):
        angles = np.concatenate([[beta], x])
        miss, slope = [], []
        for arms, rest in LOOPS:
            z, row = rest, np.zeros(7, complex)
            for arm, body in arms:
                e = arm * np.exp(1j * angles[body])
                z, row[body] = z + e, row[body] + 1j * e
            miss += [z.real, z.imag]
            slope += [row[1:].real, row[1:].imag]
        step = np.linalg.solve(np.array(slope), -np.array(miss))
        x = x + step
        if abs(step).max() < 1e-15:
            break
    return x


def rates(angles):
    """First and second rates of all angles by the crank's."""
    slope, pushed = [], []
    for arms, _ in LOOPS:
        row = np.zeros(7, complex)
        for arm, body in arms:
            row[body] += 1j * arm * np.exp(1j * angles[body])
        slope += [row.real, row.imag]
    slope = np.array(slope)
    first = np.concatenate([[1.0], np.linalg.solve(slope[:, 1:], -slope[:, 0])])
    for arms, _ in LOOPS:
        z = sum(arm * np.exp(1j * angles[body]) * first[body] ** 2 for arm, body in arms)
        pushed += [z.real, z.imag]
    second = np.concatenate([[0.0], np.linalg.solve(slope[:, 1:], np.array(pushed))])
    return first, second


def acceleration(beta, speed, torque, guess):
    angles = np.concatenate([[beta], closed(beta, guess)])
    first, second = rates(angles)
    turn = np.exp(1j * angles)
    d = 1j * turn * first
    dd = (1j * second - first**2) * turn
    knot = [7 * d[0], 7 * dd[0]]
    origin = [(0, 0), knot, (0, 0), (40 * d[4], 40 * dd[4]), (0, 0), (-40j * d[6], -40j * dd[6]), (0, 0)]
    inertia = slope = 0.0
    for k, (mass, own, at) in enumerate(BODIES):
        v, a = origin[k][0] + at * d[k], origin[k][1] + at * dd[k]
        inertia += mass * abs(v) ** 2 + own * first[k] ** 2
        slope += 2 * (mass * (v.conjugate() * a).real + own * first[k] * second[k])
    reach = B + (20 - 18j) * turn[2] - C
    along = (reach.conjugate() * (20 - 18j) * d[2]).real / abs(reach)
    force = 1e3 * (torque - RATE * (abs(reach) - FREE) * along)
    return (force - 0.5 * slope * speed**2) / inertia, angles


def run(torque, speed):
    guess = {"now": START}

    def f(_, y):
        a, angles = acceleration(y[0], y[1], torque, guess["now"])
        guess["now"] = angles[1:]
        return [y[1], a]

    ran = solve_ivp(f, (0, 0.03), [BETA, speed], method="DOP853", rtol=1e-12, atol=1e-12, max_step=2e-5)
    first = acceleration(BETA, speed, torque, START)[0]
    beta, speed = ran.y[:, -1]
    angles = np.concatenate([[beta], closed(beta, guess["now"])])
    b, k2, g, k4, d, k6, e = angles
    return [b, k2 - np.pi - b, g, k4 + np.pi / 2 - d, d, k6 - e, e], speed, first


for name, torque, start in (("driven by 33 N mm", 33.0, 0.0), ("let go at 500 rad/s", 0.0, 500.0)):
    state, speed, first = run(torque, start)
    print(name)
    print("  angles", ", ".join(f"{x:.12f}" for x in state))
    print(f"  speed {speed:.9f} rad/s, first acceleration {first:.9f} rad/s²")
    if torque:
        print("  off the published state by", max(abs(x - y) for x, y in zip(state, PUBLISHED)))
