"""Friction factors and the laminar constant of the flat tube.

Writes data/churchill1977_friction.csv and data/derived_flat_tube_laminar.csv.
Needs fluids 1.3.1, numpy 2.4.6. Run from the folder of this script.
"""

from pathlib import Path

import fluids
import numpy as np
from fluids import friction

assert fluids.__version__ == "1.3.1" and np.__version__ == "2.4.6"
DATA = Path(__file__).resolve().parent.parent / "data"


def friction_table():
    rows = [
        "# Darcy friction factors of a round pipe over Reynolds number and relative roughness.",
        "# Source: Colebrook (1939), Churchill (1977), Haaland (1983), Swamee-Jain (1976),",
        "# computed with fluids 1.3.1 (Clamond, Churchill_1977, Haaland, Swamee_Jain_1976)",
        "# by scripts/friction.py; the last three columns hold above Re 4000 and are empty below.",
        "reynolds,relative_roughness,churchill,colebrook,haaland,swamee_jain",
    ]
    reynolds = [1.5, 10, 100, 500, 1000, 1500, 2000, 2100, 2300, 2500, 3000, 3500]
    reynolds += [float(f"{x:.6g}") for x in np.geomspace(4000, 1e8, 40)]
    for re in reynolds:
        for e in [0, 1e-6, 1e-5, 1e-4, 5e-4, 1e-3, 5e-3, 0.01, 0.03, 0.05]:
            row = [repr(re), repr(e), repr(friction.Churchill_1977(re, e))]
            if re >= 4000:
                row += [
                    repr(float(friction.Clamond(re, e))),
                    repr(friction.Haaland(re, e)),
                    repr(friction.Swamee_Jain_1976(re, e)),
                ]
            else:
                row += ["", "", ""]
            rows.append(",".join(row))
    (DATA / "churchill1977_friction.csv").write_text("\n".join(rows) + "\n")


def flat_tube(alpha):
    """Darcy f Re of a flat tube of height 1 and overall width 1/alpha.

    Solves laplace(u) = -1, u = 0 on the wall: a particular solution plus logarithmic sources outside
    the wall, least squares on the wall. Returns f Re and the largest wall error of u.
    """
    straight = 1 / alpha - 1
    quarter = np.pi / 4 + straight / 2

    def wall(n, offset):
        r = 0.5 + offset
        t = (np.arange(n) + 0.5) / n * (straight / 2 + np.pi / 2 * r)
        arc = np.maximum(t - straight / 2, 0) / r
        x = np.where(t < straight / 2, t, straight / 2 + r * np.sin(arc))
        return x, r * np.cos(arc)

    n = int(60 + 40 * straight) * 4
    wx, wy = wall(3 * n, 0.0)
    sx, sy = wall(n, 6 * quarter / n)

    def sources(x, y):
        total = 0
        for a in (1, -1):
            for b in (1, -1):
                total = total + np.log(
                    (x[:, None] - a * sx) ** 2 + (y[:, None] - b * sy) ** 2
                )
        return np.hstack([total, np.ones((len(x), 1))])

    matrix = sources(wx, wy)
    wanted = -(1 / 8 - wy**2 / 2)
    weights = np.linalg.lstsq(matrix, wanted, rcond=1e-14)[0]
    error = abs(matrix @ weights - wanted).max()

    def flow(x, y, w):
        return (w * (1 / 8 - y**2 / 2 + sources(x, y) @ weights)).sum()

    g, gw = np.polynomial.legendre.leggauss(60)
    g, gw = (g + 1) / 2, gw / 2
    total = 0.0
    pieces = max(1, int(straight)) if straight > 0 else 0
    for k in range(pieces):
        x, y = np.meshgrid((k + g) * straight / 2 / pieces, g / 2)
        w = np.outer(gw / 2, gw * straight / 2 / pieces)
        total += flow(x.ravel(), y.ravel(), w.ravel())
    r, a = np.meshgrid(g / 2, g * np.pi / 2)
    w = np.outer(gw * np.pi / 2, gw / 2) * r
    x, y = straight / 2 + r * np.cos(a), r * np.sin(a)
    total += flow(x.ravel(), y.ravel(), w.ravel())
    area, perimeter = straight + np.pi / 4, 2 * straight + np.pi
    diameter = 4 * area / perimeter
    return 2 * diameter**2 * area / (4 * total), error


def flat_tube_table():
    rows = [
        "# Laminar Darcy f Re of a flat tube (rectangle with half-circle ends), on the hydraulic",
        "# diameter; aspect is height over overall width. Derived here: numerical solution of",
        "# Poisson's equation by scripts/friction.py (numpy 2.4.6); relative error about 1e-6,",
        "# judged from the residual on the wall (column, velocity in units of dp/dx h^2/mu).",
        "aspect,laminar_constant,wall_residual",
    ]
    aspects = [1, 0.95, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.25, 0.2, 0.15, 0.125, 0.1, 0.075, 0.05]
    values = []
    for alpha in aspects:
        value, error = flat_tube(alpha)
        values.append(value)
        rows.append(f"{alpha},{value:.7f},{error:.1e}")
    (DATA / "derived_flat_tube_laminar.csv").write_text("\n".join(rows) + "\n")
    # The fit in src/correlation/laminar.rs: 96 (1 + c1 a + ... + c7 a^7), exactly 64 at a = 1.
    a, y, degree = np.array(aspects), np.array(values), 7
    columns = np.stack([a**i - a**degree for i in range(1, degree)], 1)
    fitted = np.linalg.lstsq(columns, y / 96 - 1 + a**degree / 3, rcond=None)[0]
    print("flat tube coefficients", [float(c) for c in fitted], -1 / 3 - float(fitted.sum()))


friction_table()
flat_tube_table()
