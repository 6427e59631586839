"""Reference data of the paths of heat: a loop with a mixing thermostat, and channels of a device.

Needs numpy 2.4.6, scipy 1.17.1, ht 1.2.0. Writes data/derived_mixing.csv and data/gnielinski1976_channel.csv.
The equations are written here again and share no line with the program.
"""
import math
import pathlib

import ht
from scipy.optimize import root

DATA = pathlib.Path(__file__).resolve().parent.parent / "data"

# --- the loop of data/derived_mixing.json -------------------------------------------------------------------------
RHO, MU, CP, K = 1050.0, 1.2e-3, 3500.0, 0.42
STREAM_C, UA = 25.0, 120.0
OPENS, FULL, LEAK = 55.0, 70.0, 0.03


def quadratic(kv):
    """Pa per rho Q^2 of a flow coefficient in m3/h: 1 bar with 1000 kg/m3, the definition of Kv."""
    return 1e5 / (1000.0 * (kv / 3600.0) ** 2)


def loss(coefficient, m):
    """A valve: quadratic, with the handbook's small laminar term (a thousandth of the flow at 1 bar, at 1 mm2/s)."""
    q = m / RHO
    at_bar = math.sqrt(1e5 / (1000.0 * coefficient))
    return coefficient * 1e-3 * at_bar / 1e-6 * MU * q + coefficient * RHO * q * abs(q)


def lift(celsius):
    x = min(max((celsius - OPENS) / (FULL - OPENS), 0.0), 1.0)
    return LEAK + (1.0 - LEAK) * x * x * (3.0 - 2.0 * x)


def state(heat_w, unknowns):
    m_r, m_b, mixed = unknowns
    m = m_r + m_b
    rise = 40e3 * (1.0 - (m / RHO) / (20e-3 / 60.0))
    after_pump = mixed + rise * (m / RHO) / (m * CP)
    hot = after_pump + heat_w / (m * CP)
    cooled = STREAM_C + (hot - STREAM_C) * math.exp(-UA / (m_r * CP))
    return m, rise, after_pump, hot, cooled


def equations(heat_w):
    def off(unknowns):
        m_r, m_b, mixed = unknowns
        m, rise, _, hot, cooled = state(heat_w, unknowns)
        opening = lift(mixed)
        other = 1.0 + LEAK - opening
        radiator = loss(quadratic(1.5), m_r) + loss(quadratic(2.4) / opening**2, m_r)
        bypass = loss(quadratic(1.2), m_b) + loss(quadratic(1.8) / other**2, m_b)
        return [
            (radiator - bypass) / 1e4,
            (rise - loss(quadratic(2.0), m) - bypass) / 1e4,
            (m_r * cooled + m_b * hot - m * mixed) / m / 10.0,
        ]

    return off


def mixing():
    rows = []
    for kw in (1, 2, 3, 4, 6):
        heat_w = 1000.0 * kw
        best = None
        for guess in ([0.05, 0.15, 50.0], [0.1, 0.1, 60.0], [0.15, 0.05, 68.0], [0.15, 0.02, 80.0], [0.02, 0.2, 45.0]):
            found = root(equations(heat_w), guess, method="hybr", tol=1e-14)
            size = max(abs(v) for v in found.fun)
            if min(found.x[:2]) > 0 and (best is None or size < best[0]):
                best = (size, found.x)
        size, x = best
        assert size < 1e-12, (kw, size)
        m, _, after_pump, hot, cooled = state(heat_w, x)
        stream = m * CP
        usable = stream * (1.0 - math.exp(-1.0 / (0.01 * stream)))
        device = after_pump + heat_w / usable
        rows.append((f"{kw} kW", x[0], x[1], lift(x[2]), x[2], hot, cooled, device))
    with open(DATA / "derived_mixing.csv", "w") as out:
        out.write("# A loop with a mixing thermostat (derived_mixing.json): one coupled root by scipy 1.17.1, scripts/thermal_paths.py.\n")
        out.write("# [D, C] derived here and computed; flows in kg/s, temperatures in degC.\n")
        out.write("case,radiator_kg_s,bypass_kg_s,opening,mixed_c,hot_c,cooled_c,motor_c\n")
        for row in rows:
            out.write(row[0] + "," + ",".join(f"{v:.15g}" for v in row[1:]) + "\n")


# --- channels of a device -----------------------------------------------------------------------------------------
def channel():
    """A device on `n` round channels: resistance from ht's own Hausen and Gnielinski, part temperature from it."""
    bore, length, count, wall = 6e-3, 0.4, 5, 0.004
    heat_w, inlet_c = 800.0, 30.0
    prandtl = MU * CP / K
    rows = []
    for litres in (0.5, 1.0, 2.0, 3.0, 16.0, 24.0, 40.0):
        m = RHO * litres / 60e3
        area = math.pi * bore**2 / 4.0
        reynolds = m / count * bore / (area * MU)
        if reynolds < 2300.0:
            nusselt = ht.laminar_entry_thermal_Hausen(Re=reynolds, Pr=prandtl, L=length, Di=bore)
        else:
            assert reynolds > 4000.0, reynolds
            friction = (0.79 * math.log(reynolds) - 1.64) ** -2
            nusselt = ht.turbulent_Gnielinski(Re=reynolds, Pr=prandtl, fd=friction) * (1.0 + (bore / length) ** (2.0 / 3.0))
        film = nusselt * K / bore * math.pi * bore * length * count
        resistance = wall + 1.0 / film
        stream = m * CP
        part = inlet_c + heat_w / (stream * (1.0 - math.exp(-1.0 / (resistance * stream))))
        rows.append((litres, reynolds, resistance, part))
    with open(DATA / "gnielinski1976_channel.csv", "w") as out:
        out.write("# A device on five round channels of 6 mm, 0.4 m, behind 4 mK/W of wall: 800 W, coolant in at 30 degC.\n")
        out.write("# Nusselt numbers of Hausen (1943) and Gnielinski (1976) by ht 1.2.0, scripts/thermal_paths.py. [C]\n")
        out.write("litres_per_minute,reynolds,resistance_k_w,part_c\n")
        for row in rows:
            out.write(",".join(f"{v:.15g}" for v in row) + "\n")


if __name__ == "__main__":
    mixing()
    channel()
