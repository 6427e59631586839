"""Reference values for whole headers with handbook tees, validation D3.

Pinned: CoolProp 8.0.0, numpy 2.4.6, scipy 1.17.1 (Python 3.11 or later).
Run from anywhere; writes ../data/crane2009_headers.csv. Equations, from the books alone:

* tees: Crane TP-410 (2009), 90 degrees, total pressure on the combined head (validation B1, no bridge is touched);
* a resting end cap: mean of the run-datum law with the whole flow turning and of the turning law of
  `1 + x^2 - 2 x cos(3 pi/8)` on the lateral's head, as the crate documents (both arms at the cap's zero flow);
* walls: Churchill (1977) with the section's laminar constant in place of 64; 64 for tails, the exact series of a square;
* modules: dp = a mu Q + b rho Q^2 through two bench points.

Properties: ethylene glycol 50 % by volume, ASHRAE data as fitted in CoolProp. Heights level, tails without fittings.
"""

import pathlib

import numpy as np
import scipy
from CoolProp.CoolProp import PropsSI
from scipy.optimize import fsolve

assert np.__version__ == "2.4.6", np.__version__
assert scipy.__version__ == "1.17.1", scipy.__version__

DATA = pathlib.Path(__file__).resolve().parent.parent / "data"
SIDE, PORT, PITCH, TAIL, ROUGH = 0.020, 0.008, 0.045, 0.35, 1.5e-6
POINTS = [(0.5 / 60000, 600.0), (2.0 / 60000, 4500.0)]  # bench at 25 degC


def fluid(t_c):
    args = ("T", t_c + 273.15, "P", 101325.0, "INCOMP::AEG[0.5]")
    return PropsSI("D", *args), PropsSI("V", *args)


def square_constant():
    n = np.arange(1, 4001, 2.0)
    series = np.sum(np.tanh(n * np.pi / 2) / n**5)
    return 96.0 / (4.0 * (1.0 - 192.0 / np.pi**5 * series))


def churchill(re, rough, lam):
    a = (2.457 * np.log(1 / ((7 / re) ** 0.9 + 0.27 * rough))) ** 16
    return 8 * ((lam / 8 / re) ** 12 + (a + (37530 / re) ** 16) ** -1.5) ** (1 / 12)


def wall(m, area, d, length, lam, rho, mu):
    if m == 0.0:
        return 0.0
    re = abs(m) * d / (area * mu)
    f = lam / re if re < 1 else churchill(re, ROUGH / d, lam)
    return f * length / d * m * abs(m) / (2 * rho * area**2)


def bank(n, t_c, layout, total_l_min, tees):
    rho, mu = fluid(t_c)
    rho_b, mu_b = fluid(25.0)
    head_area, port_area = SIDE**2, np.pi / 4 * PORT**2
    lam = square_constant()
    (q1, d1), (q2, d2) = POINTS
    b = (d2 / q2 - d1 / q1) / (rho_b * (q2 - q1))
    a = (d1 / q1 - b * rho_b * q1) / mu_b
    total = total_l_min / 60000 * rho
    b2 = port_area / head_area
    assert b2 <= 0.35

    def head(m, area=head_area):
        return m * m / (2 * rho * area**2)

    def supply_tee(into, side):
        """Total pressure lost into the run and into the lateral."""
        if tees == "none":
            return 0.0, 0.0
        q = side / into
        lateral = (1 + (q / b2) ** 2) * head(into)
        if abs(into - side) < 1e-14 * total:
            x = b2  # v_arm / v_side
            turn = (1 + x * x - 2 * x * np.cos(3 * np.pi / 8)) * head(side, port_area)
            return 0.0, 0.5 * (lateral + turn)
        return 0.4 * q * q * head(into), lateral

    def return_tee(run, side):
        """Total pressure lost from the run and from the lateral to the combined flow."""
        if tees == "none":
            return 0.0, 0.0
        out = run + side
        q = side / out
        lateral = (1 + (q / b2) ** 2 - 2 * (1 - q) ** 2) * head(out)
        if run == 0.0:
            x = b2
            turn = (1 + x * x - 2 * x * np.cos(3 * np.pi / 8)) * head(side, port_area)
            return 0.0, 0.5 * (lateral + turn)
        return (1.55 * q - q * q) * head(out), lateral

    def branch(m):
        v = m / rho
        return 2 * wall(m, port_area, PORT, TAIL, 64.0, rho, mu) + a * mu * v + b * rho * v * abs(v)

    order = list(range(n)) if layout == "Z" else list(range(n - 1, -1, -1))

    def residual(x):
        m = x[:n] * total / n
        r = np.empty(n + 1)
        p, run = 0.0, total
        start = np.empty(n)
        for i in range(n):
            on = run - m[i] if i + 1 < n else 0.0
            side_in = m[i]
            to_run, to_side = supply_tee(on + side_in, side_in)
            start[i] = p - to_side
            p -= to_run + wall(on, head_area, SIDE, PITCH, lam, rho, mu)
            run = on
        p, run = 0.0, 0.0  # the return header, from its far end, in the sense of falling pressure
        end = np.empty(n)
        for i in order:
            from_run, from_side = return_tee(run, m[i])
            # p is the total pressure of the arriving run; behind the tee it is p - from_run.
            end[i] = p - from_run + from_side
            p -= from_run
            run += m[i]
            p -= wall(run, head_area, SIDE, PITCH, lam, rho, mu)
        for i in range(n):
            r[i] = (start[i] - branch(m[i]) - end[i]) / 1000.0 - x[n]
        r[n] = m.sum() / total - 1.0
        return r

    x = np.append(np.ones(n), 0.0)
    m0 = total / n
    x[n] = -branch(m0) / 1000.0
    x, info, ok, message = fsolve(residual, x, xtol=1e-13, full_output=True)
    for _ in range(4):
        jac = np.empty((n + 1, n + 1))
        for j in range(n + 1):
            h = 1e-6
            up, down = x.copy(), x.copy()
            up[j] += h
            down[j] -= h
            jac[:, j] = (residual(up) - residual(down)) / (2 * h)
        x = x - np.linalg.solve(jac, residual(x))
    worst = np.abs(residual(x)).max()
    assert worst < 1e-11, (worst, message)
    re = total * SIDE / (head_area * mu)
    return x[:n], worst, re


def main():
    lines = [
        "# Branch flow over mean of whole banks: square headers 20 mm inside, pitch 45 mm, tails 8 mm x 0.35 m, 1.5 um,",
        "# module 0.5 L/min 0.6 kPa and 2 L/min 4.5 kPa at 25 degC, ethylene glycol 50 % by volume, l_min a branch.",
        "# Tees of Crane TP-410 (2009) or none; walls Churchill (1977). U same end, Z opposite end; t in degC.",
        "# Solved with scipy 1.17.1, properties of CoolProp 8.0.0, by scripts/headers.py.",
        "layout,tees,n,t_c,l_min,u_1..u_n",
    ]
    for n, each in ((8, 1.0), (12, 1.0), (24, 1.0), (24, 2.0)):
        for t in (25.0, -10.0):
            for layout in "UZ":
                for tees in ("handbook", "none"):
                    u, worst, re = bank(n, t, layout, each * n, tees)
                    print(layout, tees, n, t, each, f"max/min {u.max() / u.min():.4f} residual {worst:.1e} header Re {re:.0f}")
                    lines.append(",".join([layout, tees, str(n), f"{t:g}", f"{each:g}"] + [f"{v:.12g}" for v in u]))
    (DATA / "crane2009_headers.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
