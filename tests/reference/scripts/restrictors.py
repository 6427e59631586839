"""Bores of drilled restrictors from the drop they take: an independent inversion of the product's own law.

The law (Idelchik's thick orifice with the creeping term of Dagan, Weinbaum and Pfeffer, both from memory, see
src/correlation/orifice.rs) is written down anew here and inverted with brentq. Writes data/derived_restrictor_bores.csv.
Needs scipy 1.17.1. Run from anywhere.
"""

from math import pi
from pathlib import Path

import scipy
from scipy.optimize import brentq

assert scipy.__version__ == "1.17.1"
DATA = Path(__file__).resolve().parent.parent / "data"


def drop(d, pipe, t, flow, rho, mu):
    """Pa lost by `flow` kg/s through a hole d in a pipe, plate t thick."""
    m = (d / pipe) ** 2
    l = t / d
    tau = 0.0 if l >= 2.4 else (2.4 - l) * 10 ** -(0.25 + 0.535 * l**8 / (0.05 + l**7))
    turbulent = (0.5 * (1 - m) ** 0.75 + tau * (1 - m) ** 1.375 + (1 - m) ** 2 + 0.02 * l) / m**2
    laminar = 4 * pi * (pipe / d) ** 3 * (3 * (1 - m) + 16 * l / pi)
    v = flow / rho / (pi / 4 * pipe**2)
    return (laminar / (rho * v * pipe / mu) + turbulent) * rho * v * v / 2


rows = []
for pipe in [6e-3, 8e-3, 13e-3]:
    for t in [1e-3, 1.5e-3, 3e-3]:
        for rho, mu in [(1060.0, 1.6e-3), (1090.0, 3.0e-2), (998.2, 1.0e-3)]:
            for flow in [0.008, 0.03]:
                for dp in [200.0, 2e3, 2e4]:
                    f = lambda d: drop(d, pipe, t, flow, rho, mu) - dp
                    if f(0.02 * pipe) > 0 > f(pipe):
                        d = brentq(f, 0.02 * pipe, pipe, xtol=1e-16, rtol=1e-14)
                        rows.append((pipe, t, rho, mu, flow, dp, d))
head = [
    "Bore of a drilled restrictor from pipe bore, thickness, density, viscosity, mass flow and drop.",
    "Source: derived for this project: the law of src/correlation/orifice.rs written down anew and inverted with",
    "scipy 1.17.1 brentq, by scripts/restrictors.py. It checks the inversion, not the law.",
]
lines = [f"# {line}" for line in head]
lines += ["pipe_bore_m,thickness_m,density_kg_m3,viscosity_pa_s,flow_kg_s,drop_pa,bore_m"]
lines += [",".join(repr(x) for x in row) for row in rows]
(DATA / "derived_restrictor_bores.csv").write_text("\n".join(lines) + "\n")
