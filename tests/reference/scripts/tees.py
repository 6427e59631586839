"""Reference values for tees: handbook coefficients and headers of momentum theory.

Pinned: fluids 1.3.1, numpy 2.4.6, scipy 1.17.1 (Python 3.11 or later).
Run from the folder of this script; writes ../data/crane2009_tees.csv and
../data/bajura1976_momentum_headers.csv.
"""

import pathlib
from math import sqrt

import fluids
import numpy as np
import scipy
from fluids.fittings import (
    K_branch_converging_Crane,
    K_branch_diverging_Crane,
    K_run_converging_Crane,
    K_run_diverging_Crane,
)
from scipy.integrate import solve_bvp

assert fluids.__version__ == "1.3.1", fluids.__version__
assert np.__version__ == "2.4.6", np.__version__
assert scipy.__version__ == "1.17.1", scipy.__version__

DATA = pathlib.Path(__file__).resolve().parent.parent / "data"


def handbook():
    lines = [
        "# Loss coefficients of 90-degree tees, Crane (2009), Technical Paper 410, total pressure,",
        "# on the velocity head of the combined flow. q = lateral flow / combined flow, b2 = (d/D)^2.",
        "# Computed with fluids 1.3.1 (fittings, K_*_Crane) by scripts/tees.py; not typed by hand.",
        "b2,q,dividing_lateral,dividing_run,combining_lateral,combining_run",
    ]
    shares = sorted([i / 40 for i in range(41)] + [0.405, 0.41, 0.415, 0.505, 0.51, 0.515, 0.33, 0.77])
    for b2 in [0.0625, 0.1257, 0.25, 0.34, 0.36, 0.39, 0.41, 0.44, 0.45, 0.5, 0.65, 0.68, 0.8, 1.0]:
        bore = sqrt(b2)
        for q in shares:
            args = (1.0, bore, 1.0 - q, q)
            ks = [
                f(*args)
                for f in (
                    K_branch_diverging_Crane,
                    K_run_diverging_Crane,
                    K_branch_converging_Crane,
                    K_run_converging_Crane,
                )
            ]
            lines.append(",".join([repr(b2), repr(q)] + [repr(float(k)) for k in ks]))
    (DATA / "crane2009_tees.csv").write_text("\n".join(lines) + "\n")


def header_slope(layout, mz, k_i, k_e, a, f):
    def rhs(_x, y):
        w, dw = y
        if layout == "U":
            top = (k_i - k_e * a * a) * w * dw + f * (1 + a * a) * w * w
        else:
            top = k_i * w * dw + k_e * a * a * (1 - w) * dw + f * (w * w - a * a * (1 - w) ** 2)
        return np.vstack([dw, -mz * top / dw])

    return rhs


def headers():
    lines = [
        "# Branch flow over mean, u(x), of headers of many branches: the momentum equation in the form of",
        "# Bajura and Jones (1976), J. Fluids Eng. 98, 654. layout U = same end, Z = opposite end;",
        "# mz = (N A_branch / A_supply)^2 / zeta; k_i, k_e on rho v^2 / 2; a = A_supply / A_return; f = f L / (2 D).",
        "# Columns from u_0 on: x = 0, 1/4, 1/2, 3/4, 1, then the places of the first and last of 12, 24 and 48 branches.",
        "# Boundary-value problem solved with scipy 1.17.1 (solve_bvp, tol 1e-11) by scripts/tees.py.",
        "layout,mz,k_i,k_e,a,f,u_0,u_0.25,u_0.5,u_0.75,u_1,first_12,last_12,first_24,last_24,first_48,last_48",
    ]
    rows = [
        ("U", 1, 0.75, 1.3, 1, 0),
        ("U", 4, 0.75, 1.3, 1, 0),
        ("U", 2, 1, 2, 1, 0),
        ("U", 1, 1, 1, 0.5, 0),
        ("Z", 0.5, 0.75, 1.3, 1, 0),
        ("Z", 0.8, 1, 2, 1, 0),
        ("Z", 1, 0.75, 1.3, 0.7, 0),
        ("U", 1, 0.75, 1.3, 1, 0.2),
        ("Z", 0.5, 0.75, 1.3, 1, 0.2),
        ("U", 2, 0, 0, 1, 0.3),
        ("Z", 1, 0, 0, 1, 0.3),
    ]
    x = np.linspace(0, 1, 401)
    places = [0, 0.25, 0.5, 0.75, 1]
    for n in (12, 24, 48):
        places += [0.5 / n, 1 - 0.5 / n]
    for layout, mz, k_i, k_e, a, f in rows:
        found = solve_bvp(
            header_slope(layout, mz, k_i, k_e, a, f),
            lambda l, r: np.array([l[0] - 1, r[0]]),
            x,
            np.vstack([1 - x, -np.ones_like(x)]),
            tol=1e-11,
            max_nodes=200000,
        )
        assert found.success, (layout, mz, found.message)
        u = -found.sol(np.array(places))[1]
        lines.append(
            ",".join([layout] + [repr(float(v)) for v in (mz, k_i, k_e, a, f)] + [f"{v:.9f}" for v in u])
        )
    (DATA / "bajura1976_momentum_headers.csv").write_text("\n".join(lines) + "\n")


if __name__ == "__main__":
    handbook()
    headers()
