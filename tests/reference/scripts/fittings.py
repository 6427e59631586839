"""Loss coefficients of entrances, steps and bends, and the orifice standard.

Writes data/rennels2012_area_changes.csv, data/rennels2012_bends.csv, data/iso5167_orifice.csv.
Needs fluids 1.3.1. Run from anywhere.
"""

from math import pi
from pathlib import Path

import fluids
from fluids import fittings, flow_meter

assert fluids.__version__ == "1.3.1"
DATA = Path(__file__).resolve().parent.parent / "data"


def write(name, head, columns, rows):
    lines = [f"# {line}" for line in head] + [columns]
    lines += [",".join(repr(x) for x in row) for row in rows]
    (DATA / name).write_text("\n".join(lines) + "\n")


write(
    "rennels2012_area_changes.csv",
    [
        "Sudden contraction on the small bore and rounded entrance, turbulent.",
        "Source: Rennels and Hudson (2012), Crane TP-410 (2009), computed with fluids 1.3.1",
        "(contraction_sharp, entrance_rounded) by scripts/fittings.py.",
        "x is small over large bore, or edge radius over bore of the entrance (1 is the sharp limit).",
    ],
    "x,contraction_rennels,contraction_crane,entrance_rennels,entrance_crane",
    [
        (
            x,
            fittings.contraction_sharp(1.0, x),
            fittings.contraction_sharp(1.0, x, method="Crane"),
            fittings.entrance_rounded(1.0, x),
            fittings.entrance_rounded(1.0, x, method="Crane"),
        )
        for x in [0.02, 0.05, 0.1, 0.14, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.98]
    ],
)
write(
    "rennels2012_bends.csv",
    [
        "Smooth bends at a given friction factor, and mitres; angle in degrees.",
        "Source: Rennels and Hudson (2012), computed with fluids 1.3.1 (bend_rounded, bend_miter)",
        "by scripts/fittings.py.",
    ],
    "angle_deg,radius_ratio,friction_factor,bend,mitre",
    [
        (
            float(angle),
            float(ratio),
            f,
            fittings.bend_rounded(Di=1.0, angle=angle, fd=f, bend_diameters=ratio),
            fittings.bend_miter(angle),
        )
        for angle in [15, 45, 60, 90, 120]
        for ratio in [1, 1.5, 2, 3, 5]
        for f in [0.015, 0.03]
    ],
)


def orifice(pipe, beta, reynolds):
    rho, mu = 1000.0, 1e-3
    m = reynolds * pi * pipe * mu / 4
    c = flow_meter.C_Reader_Harris_Gallagher(pipe, beta * pipe, rho, mu, m, taps="corner")
    area = pi / 4 * (beta * pipe) ** 2
    dp = (m / (c * area)) ** 2 * (1 - beta**4) / (2 * rho)
    permanent = flow_meter.dP_orifice(pipe, beta * pipe, P1=2 * dp, P2=dp, C=c)
    head = 0.5 * rho * (m / (rho * pi / 4 * pipe**2)) ** 2
    return (pipe, beta, reynolds, c, dp / head, permanent / dp, flow_meter.discharge_coefficient_to_K(pipe, beta * pipe, c))


write(
    "iso5167_orifice.csv",
    [
        "Orifice plate with corner taps: discharge coefficient, tap difference over the pipe's",
        "velocity head, permanent share, permanent loss coefficient.",
        "Source: ISO 5167-2 (Reader-Harris/Gallagher), computed with fluids 1.3.1 (flow_meter)",
        "by scripts/fittings.py.",
    ],
    "pipe_bore_m,bore_ratio,reynolds,discharge_coefficient,tap_coefficient,permanent_share,loss_coefficient",
    [
        orifice(pipe, beta, re)
        for pipe in [0.05, 0.07, 0.1, 0.3]
        for beta in [0.3, 0.5, 0.6, 0.7]
        for re in [1e4, 1e5, 1e6]
        if not (beta == 0.3 and pipe < 0.05)
    ],
)
