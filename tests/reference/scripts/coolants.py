"""Reference values and fitted coefficients for `src/fluid/`.

Pinned: CoolProp 8.0.0, fluids 1.3.1, numpy 2.4.6, Python 3.11.

    python coolants.py            writes the tables under ../data/
    python coolants.py --rust     also writes src/fluid/glycol_ashrae.rs and
                                  glycol_melinder.rs (run rustfmt after it) and
                                  prints the constants that stand in water.rs

What is exact and what is fitted:
* The glycol data of CoolProp are polynomials in fraction and temperature (the
  logarithm of viscosity; the freezing point, or its logarithm, in fraction).
  Sampling them and solving for the coefficients gives them back to round-off:
  the script stops unless the misfit is below 1e-11.
* Water is a least-squares fit of degree 7 on 200 Chebyshev points between 0 and
  120 degC at 300 kPa to the IAPWS formulations (density and heat capacity:
  Wagner and Pruss, 2002; viscosity: Huber et al., 2009; conductivity: Huber et
  al., 2012). The misfit is printed.

The two `ashrae_*_printed.csv` tables are transcribed by hand, not written here.
"""

import sys
from pathlib import Path

import CoolProp
import numpy as np
from CoolProp.CoolProp import PropsSI
from fluids.atmosphere import ATMOSPHERE_1976

HERE = Path(__file__).resolve().parent
DATA = HERE.parent / "data"
ROOM = HERE.parents[2] / "src" / "fluid"

ZERO_C_K = 273.15
WATER_PRESSURE_PA = 300e3
SOLUTION_PRESSURE_PA = 101325.0
FRACTION_BASE = 0.35
WATER_DEGREE = 7
# Powers of fraction and temperature in the published form: total degree at most
# 5, temperature at most 3.
FRACTION_TERMS, TEMPERATURE_TERMS = 6, 4
MIXES = {
    "AEG": ("ASHRAE data, ethylene glycol", "volume", 0.10),
    "APG": ("ASHRAE data, propylene glycol", "volume", 0.10),
    "MEG": ("Melinder 2010, ethylene glycol", "mass", 0.10),
    "MPG": ("Melinder 2010, propylene glycol", "mass", 0.10),
}
KEYS = {"density": "D", "ln_viscosity": "V", "specific_heat": "C", "conductivity": "L"}


def kelvin(t_c):
    return t_c + ZERO_C_K


def mix(key, name, fraction, t_k):
    return PropsSI(key, "T", t_k, "P", SOLUTION_PRESSURE_PA, f"INCOMP::{name}[{fraction:.15g}]")


def freezing_k(name, fraction):
    return mix("T_freeze", name, fraction, 300.0)


def water(key, t_k):
    return PropsSI(key, "T", t_k, "P", WATER_PRESSURE_PA, "Water")


def write(name, comments, header, rows):
    with open(DATA / name, "w", encoding="utf-8", newline="\n") as out:
        for line in comments:
            out.write(f"# {line}\n")
        out.write("# Written by scripts/coolants.py.\n")
        out.write(header + "\n")
        for row in rows:
            out.write(",".join(v if isinstance(v, str) else f"{v:.10g}" for v in row) + "\n")


def tables():
    write(
        "wagner2002_water_300kpa.csv",
        [
            "Liquid water at 300 kPa, IAPWS formulations, computed with CoolProp 8.0.0.",
            "Density and heat capacity: Wagner and Pruss (2002), J. Phys. Chem. Ref. Data 31:387.",
            "Viscosity: Huber et al. (2009), JPCRD 38:101 (IAPWS R12-08).",
            "Conductivity: Huber et al. (2012), JPCRD 41:033102 (IAPWS R15-11).",
        ],
        "t_c,density_kg_m3,viscosity_pa_s,specific_heat_j_kg_k,conductivity_w_m_k",
        [(t, *(water(k, kelvin(t)) for k in "DVCL")) for t in sorted({*range(0, 111, 2), 1, 25})],
    )
    write(
        "wagner2002_saturation.csv",
        ["Saturation pressure of water, Wagner and Pruss (2002), computed with CoolProp 8.0.0."],
        "t_c,pressure_pa",
        [(t, PropsSI("P", "T", kelvin(t), "Q", 0, "Water")) for t in (1, *range(10, 151, 10))],
    )
    rows, freezing = [], []
    for name in MIXES:
        for percent in (10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60):
            x = percent / 100
            freeze = freezing_k(name, x)
            freezing.append((name, percent, freeze - ZERO_C_K))
            for t in (-34, -30, -20, -10, 0, 10, 25, 40, 60, 80, 100):
                if kelvin(t) > freeze:
                    rows.append((name, percent, t, *(mix(k, name, x, kelvin(t)) for k in "DVCL")))
    solutions = [
        "Glycol and water, computed with CoolProp 8.0.0 (Bell, Wronski, Quoilin, Lemort, 2014,",
        "Ind. Eng. Chem. Res. 53:2498). AEG, APG: ASHRAE Handbook Fundamentals data as fitted",
        "there, percent by VOLUME. MEG, MPG: Melinder (2010), percent by MASS.",
    ]
    write(
        "bell2014_glycol_properties.csv",
        solutions,
        "fluid,percent,t_c,density_kg_m3,viscosity_pa_s,specific_heat_j_kg_k,conductivity_w_m_k",
        rows,
    )
    write("bell2014_glycol_freezing.csv", solutions, "fluid,percent,freezing_c", freezing)
    write(
        "lemmon2004_air.csv",
        [
            "Dry air at 101325 Pa, Lemmon et al. (2000) and Lemmon and Jacobsen (2004), computed",
            "with CoolProp 8.0.0.",
        ],
        "t_c,density_kg_m3,viscosity_pa_s,specific_heat_j_kg_k,conductivity_w_m_k",
        [
            (t, *(PropsSI(k, "T", kelvin(t), "P", 101325.0, "Air") for k in "DVCL"))
            for t in range(-40, 121, 20)
        ],
    )
    earth_m = 6356766.0
    write(
        "ussa1976_pressure.csv",
        [
            "U.S. Standard Atmosphere 1976, computed with fluids 1.3.1; altitude is geopotential.",
            "The same as ISO 2533 but for its gas constant (287.05307, there 287.05287 J/(kg K)).",
        ],
        "altitude_m,pressure_pa",
        [
            (h, ATMOSPHERE_1976(earth_m * h / (earth_m - h)).P)
            for h in (-400, 0, 500, 1000, 1600, 2000, 3000, 5000, 8000, 11000)
        ],
    )


def short(value):
    return repr(float(f"{value:.14g}"))


def solve(basis, values, what):
    coefficients, *_ = np.linalg.lstsq(basis, values, rcond=None)
    misfit = np.abs(basis @ coefficients - values).max() / np.abs(values).max()
    if misfit > 1e-11:
        raise SystemExit(f"{what}: the published form is not reproduced, misfit {misfit:.1e}")
    return coefficients


def glycol_constant(name, constant):
    title, basis_name, lowest = MIXES[name]
    fractions = np.linspace(lowest, 0.60, 21)
    w = fractions - FRACTION_BASE
    freezing = np.array([freezing_k(name, x) for x in fractions])
    logarithmic = name.startswith("A")
    powers = np.vander(w, FRACTION_TERMS, increasing=True)
    freeze = solve(powers, np.log(freezing) if logarithmic else freezing, name)
    points = [
        (x, t)
        for x, lower in zip(fractions, freezing)
        for t in np.linspace(max(lower, 238.15) + 0.01, 373.14, 22)
    ]
    terms = [
        (i, j)
        for j in range(TEMPERATURE_TERMS)
        for i in range(FRACTION_TERMS)
        if i + j < FRACTION_TERMS
    ]
    basis = np.array([[(x - FRACTION_BASE) ** i * ((t - ZERO_C_K) / 100) ** j for i, j in terms] for x, t in points])
    text = [f"/// {title}; fractions by {basis_name}.", f"pub(super) const {constant}: GlycolFit = GlycolFit {{"]
    for field, key in KEYS.items():
        values = np.array([mix(key, name, x, t) for x, t in points])
        if field.startswith("ln_"):
            values = np.log(values)
        found = dict(zip(terms, solve(basis, values, f"{name} {field}")))
        text.append(f"    {field}: [")
        for j in range(TEMPERATURE_TERMS):
            text.append("        [" + ", ".join(short(found.get((i, j), 0.0)) for i in range(FRACTION_TERMS)) + "],")
        text.append("    ],")
    form = "LogTemperature" if logarithmic else "Temperature"
    text.append(f"    freezing: FreezingFit::{form}([" + ", ".join(short(c) for c in freeze) + "]),")
    text.append("};")
    return "\n".join(text) + "\n"


def rust_tables():
    rooms = {
        "glycol_ashrae.rs": (
            ("AEG", "ETHYLENE"),
            ("APG", "PROPYLENE"),
            "ASHRAE Handbook Fundamentals data, by volume fraction",
        ),
        "glycol_melinder.rs": (
            ("MEG", "ETHYLENE"),
            ("MPG", "PROPYLENE"),
            "Melinder (2010), Properties of Secondary Working Fluids for Indirect Systems,\n//! by mass fraction",
        ),
    }
    for file, (ethylene, propylene, source) in rooms.items():
        head = (
            f"//! Coefficients of glycol mixes: {source}.\n"
            "//!\n"
            "//! Numbers only; `glycol.rs` says what they mean. They are the polynomials of CoolProp 8.0.0\n"
            "//! (Bell, Wronski, Quoilin and Lemort, 2014, Ind. Eng. Chem. Res. 53:2498), recovered to\n"
            "//! round-off and written by `tests/reference/scripts/coolants.py --rust`. Do not edit.\n\n"
            "use super::glycol::{FreezingFit, GlycolFit};\n\n"
        )
        body = glycol_constant(*ethylene) + "\n" + glycol_constant(*propylene)
        (ROOM / file).write_text(head + body, encoding="utf-8")


def water_constants():
    n = 200
    t = ZERO_C_K + 60 - 60 * np.cos((np.arange(n) + 0.5) * np.pi / n)
    theta = (t - ZERO_C_K) / 100
    for field, key in KEYS.items():
        values = np.array([water(key, v) for v in t])
        if field.startswith("ln_"):
            values = np.log(values)
        fit = np.polynomial.Polynomial.fit(theta, values, WATER_DEGREE).convert()
        misfit = np.abs(fit(theta) - values)
        misfit = (misfit if field.startswith("ln_") else misfit / values).max()
        print(f"{field}: [" + ", ".join(short(c) for c in fit.coef) + f"], // misfit {misfit:.1e}")


if __name__ == "__main__":
    if CoolProp.__version__ != "8.0.0":
        raise SystemExit(f"wants CoolProp 8.0.0, found {CoolProp.__version__}")
    tables()
    if "--rust" in sys.argv[1:]:
        rust_tables()
        water_constants()
