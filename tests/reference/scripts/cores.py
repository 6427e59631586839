"""Radiator cores: effectiveness by how the streams meet, and faces of fins from their geometry.

Writes data/derived_core_streams.csv and data/derived_fin_faces.csv.
Needs ht 1.2.0, fluids 1.3.1, numpy 2.4.6. Run from anywhere.
"""

from pathlib import Path

import fluids
import ht
import numpy as np
from ht.hx import effectiveness_from_NTU

assert ht.__version__ == "1.2.0" and fluids.__version__ == "1.3.1"
DATA = Path(__file__).resolve().parent.parent / "data"


def chain(n, ntu, coolant, air):
    """Overall effectiveness of n crossflow passes in counterflow, by one linear system over all temperatures.

    Coolant runs through passes 0..n-1, air through n-1..0; each pass moves e Cmin (T_coolant,in - T_air,in).
    """
    low, high = min(coolant, air), max(coolant, air)
    e = effectiveness_from_NTU(ntu / n, low / high, subtype="crossflow")
    g = e * low
    # Unknowns: coolant into pass 0..n, air into pass n-1..-1 (index k = air into pass k, index n.. shifted by one).
    size = 2 * (n + 1)
    m, b = np.zeros((size, size)), np.zeros(size)
    hot = lambda k: k
    cold = lambda k: n + 1 + (n - 1 - k)
    m[0, hot(0)], b[0] = 1, 1
    m[1, cold(n - 1)], b[1] = 1, 0
    row = 2
    for k in range(n):
        m[row, hot(k)], m[row, hot(k + 1)], m[row, cold(k)] = coolant - g, -coolant, g
        m[row + 1, cold(k)], m[row + 1, cold(k - 1)], m[row + 1, hot(k)] = air - g, -air, g
        row += 2
    t = np.linalg.solve(m, b)
    return coolant * (1 - t[hot(n)]) / low


rows = [
    "# Effectiveness of a radiator core over conductance and heat capacity flows, all W/K.",
    "# Source: crossflow relations of ht 1.2.0 (air or coolant mixed: Cmin or Cmax mixed, whichever that stream is);",
    "# passes: single crossflows of ht chained in counterflow by one linear system (numpy 2.4.6), by scripts/cores.py.",
    "conductance,coolant,air,air_mixed,coolant_mixed,passes_2,passes_3,passes_6",
]
for ua in [40.0, 300.0, 900.0, 2500.0]:
    for coolant, air in [(800.0, 300.0), (800.0, 790.0), (500.0, 500.0), (200.0, 900.0)]:
        low, high = min(coolant, air), max(coolant, air)
        n, cr = ua / low, low / high
        kind = lambda smaller: "crossflow, mixed Cmin" if smaller else "crossflow, mixed Cmax"
        mixed = [
            effectiveness_from_NTU(n, cr, subtype=kind(air <= coolant)),
            effectiveness_from_NTU(n, cr, subtype=kind(coolant <= air)),
        ]
        passes = [chain(k, n, coolant, air) for k in (2, 3, 6)]
        rows.append(",".join(repr(float(x)) for x in [ua, coolant, air] + mixed + passes))
(DATA / "derived_core_streams.csv").write_text("\n".join(rows) + "\n")

# A face of flat tubes: th 27 deg, Fp 1.4, d 0.08, Lp 1.2, Ll 6.8, Td = Fd 27, Tp 10, Dm 2 mm, k 200 W/(m K).
th, fp, d, lp, ll, td, tp, dm, k = 27.0, 1.4e-3, 0.08e-3, 1.2e-3, 6.8e-3, 27e-3, 10e-3, 2e-3, 200.0
fl = tp - dm
rho, mu, cp, lam = 1.145, 1.895e-5, 1006.0, 0.0262
pr = mu * cp / lam
# Areas counted piece by piece for one tube and one gap of 1 m length.
fins = 1 / fp
fin_area = fins * 2 * fl * td
bare = 2 * td * (1 - fins * d)
free = fl * (1 - fins * d)
face = tp * 1.0
dh = 4 * (fp - d) * fl / (2 * (fp - d) + 2 * fl)


def louvred(re):
    j = re**-0.49 * (th / 90) ** 0.27 * (fp / lp) ** -0.14 * (fl / lp) ** -0.29 * (td / lp) ** -0.23
    j *= (ll / lp) ** 0.68 * (tp / lp) ** -0.28 * (d / lp) ** -0.05
    gap = tp - dm
    f1 = 4.97 * re ** (0.6049 - 1.064 / th**0.2) * np.log((d / fp) ** 0.5 + 0.9) ** -0.527
    f2 = (dh / lp * np.log(0.3 * re)) ** -2.966 * (fp / ll) ** (-0.7931 * tp / gap)
    f3 = (tp / dm) ** -0.0446 * np.log(1.2 + (lp / fp) ** 1.4) ** -3.553 * th**-0.477
    return j, f1 * f2 * f3


def whole(h):
    m = (2 * h / (k * d)) ** 0.5
    eta = np.tanh(m * fl / 2) / (m * fl / 2)
    return h * (eta * fin_area + bare) / face, eta


edge = fluids.fittings.contraction_sharp(1.0, (free / face) ** 0.5, method="Rennels")
edge += fluids.fittings.diffuser_sharp((free / face) ** 0.5, 1.0)
a = (fp - d) / fl
nu_t = 7.541 * (1 - 2.610 * a + 4.970 * a**2 - 5.119 * a**3 + 2.702 * a**4 - 0.548 * a**5)
rows = [
    "# Conductance per face area, fin efficiency and pressure drop of louvred fins, and the same heat of plain fins.",
    "# Source: formulas of Chang and Wang (1997), Chang et al. (2000) above Re 230, Shah and London (1978) with",
    "# Hausen (1943), fin of even thickness; edges by fluids 1.3.1 (Rennels; sharp expansion). Areas counted apart from",
    "# the program's. Air rho 1.145, mu 1.895e-5, cp 1006, k 0.0262. By scripts/cores.py.",
    "face_m_s,louvred_w_m2_k,louvred_fin,louvred_pa,plain_w_m2_k,plain_fin",
]
for u in [3.0, 4.0, 6.0, 9.0]:
    between = u * face / free
    g = rho * between
    re = g * lp / mu
    assert re > 230
    j, f = louvred(re)
    u_l, eta_l = whole(j * g * cp / pr ** (2 / 3))
    drop = (f * (fin_area + bare) / free + edge) * g * g / (2 * rho)
    gz = g * dh / mu * pr * dh / td
    assert g * dh / mu < 2300
    nu = nu_t + 0.0668 * gz / (1 + 0.04 * gz ** (2 / 3))
    u_p, eta_p = whole(nu * lam / dh)
    rows.append(",".join(repr(float(x)) for x in [u, u_l, eta_l, drop, u_p, eta_p]))
(DATA / "derived_fin_faces.csv").write_text("\n".join(rows) + "\n")
