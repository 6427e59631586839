"""Reference values for a vehicle of two loops on one divided radiator, validation F5.

Pinned: CoolProp 8.0.0, numpy 2.4.6, scipy 1.17.1 (Python 3.11 or later).
Run from anywhere; writes ../data/derived_vehicle.json (the design) and ../data/derived_vehicle.csv (its answer).

One coupled root of flows and temperatures of everything, from the equations alone:

* coolant: ethylene glycol 50 % by volume, ASHRAE data as fitted in CoolProp (the crate's fit is the same polynomial);
  every part at the mean of its inlet and outlet temperature, enthalpy the integral of cp;
* hoses: Churchill, sum of minor losses K + 50 K/Re; headers: the same with the exact constant of a square, tees lossless;
* modules and plates: dp = a mu Q + b rho Q^2 through two bench points;
* pumps and fan: SciPy's PCHIP, rise scaled by density; a pump's hydraulic power heats the coolant;
* cores: rectangular tubes (exact laminar constant and Shah-London Nu_T, both for constant wall temperature), sharp
  entrance 0.57 + 160/Re of Rennels and exit 1 + 30/Re; laminar Nu with Hausen's entry term, Gnielinski with the
  (D/L)^(2/3) entry factor above Re 4000; between them nothing is evaluated; crossflow both unmixed by the exact series;
* air: ideal gas, Sutherland's viscosity, ram pressure, covered strips through the fan, uncovered ones past it;
* battery: I^2 R(T) of each module, R through its points by PCHIP, module = inlet + Q / (m cp (1 - exp(-1/(R m cp)))).
"""

import json
import pathlib

import numpy as np
import scipy
from CoolProp.CoolProp import PropsSI
from scipy.interpolate import PchipInterpolator
from scipy.optimize import least_squares, root
from scipy.special import gammainc

assert np.__version__ == "2.4.6", np.__version__
assert scipy.__version__ == "1.17.1", scipy.__version__

DATA = pathlib.Path(__file__).resolve().parent.parent / "data"
GAUSS = np.polynomial.legendre.leggauss(6)
ZERO = 273.15

BATTERY_PUMP = [(0, 52), (12, 44), (24, 21), (30, 0)]
DRIVE_PUMP = [(0, 90), (15, 80), (30, 55), (40, 0)]
FAN = [(0, 250), (900, 170), (1600, 0)]
MODULE_POINTS = [(0.5, 1.2), (3.0, 17.0)]
MOTOR_POINTS = [(8, 2.6), (30, 25.0)]
RESISTANCE = [(0, 6.0), (25, 3.0), (45, 2.4)]
FACE = (0.62, 0.42)
TUBES, INSIDE, TUBE_LENGTH = 20, (0.026, 0.0028), 0.60
CORES = {"battery": (15, 0.5), "drive": (3, 0.7)}  # tubes, share of the face under the fan
AIR_SIDE = (1600.0, 0.5, 9.0, 6.0)  # W/(m2 K) at 1 m/s, exponent, Pa s/m, Pa s2/m2
RAM, EXIT_LOSS = 0.4, 4.0
PITCH, HEADER, PORT, ROUGH = 0.06, 0.012, 0.008, 1.5e-6
HOSES = {  # name: bore m, length m, K
    "battery": {"feed": (0.019, 1.4, 1.5), "home": (0.016, 2.8, 3.0)},
    "drive": {"feed": (0.016, 1.1, 1.0), "home": (0.016, 1.6, 2.0)},
}
CASES = {  # air degC, travel km/h, module A, motor W
    "hill": (38.0, 35.0, 140.0, 1500.0),
    "winter": (-12.0, 60.0, 110.0, 800.0),
    "charge": (35.0, 0.0, 60.0, 400.0),
}


def mix(key, t):
    return PropsSI(key, "T", t, "P", 101325.0, "INCOMP::AEG[0.5]")


class Fluid:
    def __init__(self, t):
        self.rho, self.mu, self.cp, self.k = (mix(key, t) for key in "DVCL")


def gain(t0, t1):
    """Enthalpy from t0 to t1: exact, cp is a cubic."""
    x, w = GAUSS
    return 0.5 * (t1 - t0) * sum(wi * mix("C", 0.5 * (t0 + t1) + 0.5 * (t1 - t0) * xi) for xi, wi in zip(x, w))


def churchill(re, rough, lam):
    if re < 1:
        return lam / re
    a = (2.457 * np.log(1 / ((7 / re) ** 0.9 + 0.27 * rough))) ** 16
    return 8 * ((lam / 8 / re) ** 12 + (a + (37530 / re) ** 16) ** -1.5) ** (1 / 12)


def rectangle_constant(a):
    n = np.arange(1, 4001, 2.0)
    series = np.sum(np.tanh(n * np.pi / (2 * a)) / n**5)
    return 96 / ((1 + a) ** 2 * (1 - 192 * a / np.pi**5 * series))


SQUARE, FLAT = rectangle_constant(1.0), rectangle_constant(INSIDE[1] / INSIDE[0])


def duct(m, f, area, d, length, lam, k=0.0, k1=0.0, parallel=1.0):
    m = m / parallel
    re = abs(m) * d / (area * f.mu)
    half = m * abs(m) / (2 * f.rho * area**2)
    return churchill(re, ROUGH / d, lam) * length / d * half + (k + k1 / re) * half


def hose(m, t, numbers):
    bore, length, k = numbers
    return duct(m, Fluid(t), np.pi / 4 * bore**2, bore, length, 64.0, k, 50 * k)


def two_terms(points):
    f = Fluid(25 + ZERO)
    (q1, d1), (q2, d2) = [(q / 60000, d * 1e3) for q, d in points]
    b = (d2 / q2 - d1 / q1) / (f.rho * (q2 - q1))
    return (d1 / q1 - b * f.rho * q1) / f.mu, b


def measured(m, t, ab):
    f = Fluid(t)
    q = m / f.rho
    return ab[0] * f.mu * q + ab[1] * f.rho * q * abs(q)


def curve(points, scale):
    x, y = zip(*points)
    return PchipInterpolator(np.array(x) * scale, np.array(y))


PUMPS = {n: curve(p, 1 / 60000) for n, p in (("battery", BATTERY_PUMP), ("drive", DRIVE_PUMP))}
FAN_CURVE, OHM = curve(FAN, 1 / 3600), curve([(t + ZERO, r * 1e-3) for t, r in RESISTANCE], 1.0)
MODULE, MOTOR = two_terms(MODULE_POINTS), two_terms(MOTOR_POINTS)
PUMP_DENSITY = Fluid(25 + ZERO).rho


def pump_rise(name, m, t):
    rho = Fluid(t).rho
    assert 0 < m / rho < {"battery": 30, "drive": 40}[name] / 60000
    return float(PUMPS[name](m / rho)) * 1e3 * rho / PUMP_DENSITY


def crossflow(n, cr):
    """Both unmixed, the exact series (Mason, 1955); gammainc(k + 1, x) = 1 - e^-x sum_{m<=k} x^m/m!."""
    k = np.arange(0, 200)
    return float(np.sum(gammainc(k + 1, n) * gammainc(k + 1, cr * n)) / (cr * n))


def air_flows(case):
    air_c, kmh, _, _ = CASES[case]
    t = air_c + ZERO
    rho, rho0 = 101325 / (287.05287 * t), 101325 / (287.05287 * 293.15)
    mu, mu0 = (1.458e-6 * x**1.5 / (x + 110.4) for x in (t, 293.15))
    ram = RAM * 0.5 * rho * (kmh / 3.6) ** 2
    _, _, lin, quad = AIR_SIDE
    faces = {n: FACE[0] * FACE[1] * c[0] / TUBES for n, c in CORES.items()}

    def loss(u):
        return lin * mu / mu0 * u + (quad / rho0 + 0.5 * EXIT_LOSS) * rho * u * abs(u)

    def residual(x):
        u_cov, u_open = x
        q = sum(faces[n] * c[1] for n, c in CORES.items()) * u_cov
        residual.share = q / (1600 / 3600)
        return [ram - loss(u_cov) + float(FAN_CURVE(min(max(q, 0.0), 1600 / 3600))) * rho / rho0, ram - loss(u_open)]

    if ram == 0.0:
        u = root(lambda x: residual([x[0], 0.0])[:1], [1.5], tol=1e-14).x
        x = np.array([u[0], 0.0])
    else:
        x = root(residual, [2.0, 1.5], tol=1e-14).x
    assert max(abs(v) for v in residual(x)) < 1e-9 and 0 < residual.share < 1
    return rho, t, {n: [(x[0], c[1]), (x[1], 1 - c[1])] for n, c in CORES.items()}, faces


def core(name, m, t_in, t_out, air):
    """Heat given off and pressure lost; share by share of the face."""
    rho_air, t_air, strips, faces = air
    f = Fluid(0.5 * (t_in + t_out))
    tubes = CORES[name][0]
    w, h = INSIDE
    area, perimeter = w * h, 2 * (w + h)
    d = 4 * area / perimeter
    re, pr = m * d / (area * tubes * f.mu), f.mu * f.cp / f.k
    if re <= 2300:
        a = h / w
        gz = re * pr * d / TUBE_LENGTH
        nu = 7.541 * (1 - 2.610 * a + 4.970 * a**2 - 5.119 * a**3 + 2.702 * a**4 - 0.548 * a**5)
        nu += 0.0668 * gz / (1 + 0.04 * gz ** (2 / 3))
    else:  # checked at the answer: not on the bridge from 2300 to 4000
        fr = (0.79 * np.log(re) - 1.64) ** -2
        nu = fr / 8 * (re - 1000) * pr / (1 + 12.7 * np.sqrt(fr / 8) * (pr ** (2 / 3) - 1))
        nu *= 1 + (d / TUBE_LENGTH) ** (2 / 3)
    inside = nu * f.k / d * perimeter * TUBE_LENGTH * tubes
    heat = 0.0
    for u, share in strips[name]:
        if u <= 0.0:
            continue
        face = faces[name] * share
        c_air, c_cool = rho_air * u * face * 1006.0, m * f.cp * share
        outside = AIR_SIDE[0] * u ** AIR_SIDE[1] * face
        ua = 1 / (1 / outside + 1 / (inside * share))
        low, high = min(c_air, c_cool), max(c_air, c_cool)
        heat += crossflow(ua / low, low / high) * low * (t_in - t_air)
    jet = 1.622
    k_in = 0.0696 * jet**2 + (jet - 1) ** 2
    drop = duct(m, f, area, d, TUBE_LENGTH, FLAT, k_in + 1.0, 160.0 + 30.0, tubes)
    return heat, drop, re


def header(m, t):
    return duct(m, Fluid(t), HEADER**2, HEADER, PITCH, SQUARE)


def vehicle(case):
    air = air_flows(case)
    _, _, amps, motor_w = CASES[case]

    # Unknowns: battery q1 q2 q3 (kg/s), T after core, after pump, after modules 1..3, mixed return, module temperatures,
    # drive m, T after core, after pump, after motor.
    def residual(x):
        q = x[0:3] * 0.1
        t_core, t_pump = x[3] * 10 + ZERO, x[4] * 10 + ZERO
        t_out, t_mix, t_mod = x[5:8] * 10 + ZERO, x[8] * 10 + ZERO, x[9:12] * 10 + ZERO
        m = q.sum()
        heat, drop_core, re_b = core("battery", m, t_mix, t_core, air)
        rise = pump_rise("battery", m, 0.5 * (t_core + t_pump))
        hyd = rise * m / Fluid(0.5 * (t_core + t_pump)).rho
        # Supply header warm from the pump; return header from the far module 3 to module 1, mixing on the way.
        t_r3 = t_out[2]
        h23 = gain(t_out[2], t_out[1]) * q[1] / (q[1] + q[2])  # enthalpy of the mix of 2 and 3 above that of 3
        t_r2 = invert(t_out[2], h23)
        joined = [gain(t_mix, t_out[i]) * q[i] for i in range(3)]
        drops = [measured(q[i], 0.5 * (t_pump + t_out[i]), MODULE) + hose(q[i], t_pump, TAIL) + hose(q[i], t_out[i], TAIL) for i in range(3)]
        s12, s23 = header(q[1] + q[2], t_pump), header(q[2], t_pump)
        r23, r12 = header(q[2], t_r3), header(q[1] + q[2], t_r2)
        whole = (
            hose(m, t_pump, HOSES["battery"]["feed"]) + hose(m, t_mix, HOSES["battery"]["home"])
            + header(m, t_pump) + header(m, t_mix) + drops[0] + drop_core
        )
        r = [
            (whole - rise) / 1e4,
            (drops[0] - s12 - drops[1] - r12) / 1e3,
            (drops[1] - s23 - drops[2] - r23) / 1e3,
            (m * gain(t_mix, t_core) + heat) / 1e3,
            (m * gain(t_core, t_pump) - hyd) / 10,
        ]
        for i in range(3):
            w = amps**2 * float(OHM(min(max(t_mod[i], ZERO), 45 + ZERO)))
            r.append((q[i] * gain(t_pump, t_out[i]) - w) / 1e2)
        r.append(sum(joined) / 1e2)
        for i in range(3):
            w = amps**2 * float(OHM(min(max(t_mod[i], ZERO), 45 + ZERO)))
            c = q[i] * Fluid(0.5 * (t_pump + t_out[i])).cp
            r.append((c * (1 - np.exp(-1 / (0.03 * c))) * (t_mod[i] - t_pump) - w) / 1e2)
        # The drive loop.
        m = x[12] * 0.1
        t_core, t_pump, t_motor = (x[13:16] * 10 + ZERO)
        heat, drop_core, re_d = core("drive", m, t_motor, t_core, air)
        rise = pump_rise("drive", m, 0.5 * (t_core + t_pump))
        hyd = rise * m / Fluid(0.5 * (t_core + t_pump)).rho
        whole = (
            hose(m, t_pump, HOSES["drive"]["feed"]) + measured(m, 0.5 * (t_pump + t_motor), MOTOR)
            + hose(m, t_motor, HOSES["drive"]["home"]) + drop_core
        )
        r += [
            (whole - rise) / 1e4,
            (m * gain(t_motor, t_core) + heat) / 1e3,
            (m * gain(t_core, t_pump) - hyd) / 10,
            (m * gain(t_pump, t_motor) - motor_w) / 1e3,
        ]
        residual.reynolds = (re_b, re_d)
        return np.array(r)

    warm = CASES[case][0]
    battery = [warm + 3, warm + 3, *[warm + 5] * 3, warm + 5, *[warm + 8] * 3]
    start = np.array([1.1, 1.05, 1.0, *[b / 10 for b in battery], 2.2, (warm + 20) / 10, (warm + 20) / 10, (warm + 24) / 10])
    low = np.array([0.2] * 3 + [-2.0] * 9 + [0.5] + [-2.0] * 3)
    high = np.array([1.7] * 3 + [9.9] * 9 + [6.9] + [9.9] * 3)
    x = least_squares(residual, start, bounds=(low, high), xtol=1e-13, ftol=1e-15, gtol=1e-15).x
    for _ in range(4):
        jac = np.empty((16, 16))
        for j in range(16):
            h = 1e-6 * max(abs(x[j]), 0.1)
            up, down = x.copy(), x.copy()
            up[j] += h
            down[j] -= h
            jac[:, j] = (residual(up) - residual(down)) / (2 * h)
        x = x - np.linalg.solve(jac, residual(x))
    worst = np.abs(residual(x)).max()
    assert worst < 1e-10, worst
    for re in residual.reynolds:
        assert not 2300 < re < 4000, f"Re {re:.0f} is on the bridge"
    return x, worst, residual.reynolds, air


TAIL = (PORT, 0.35, 0.0)


def invert(t0, h):
    t = t0 + h / mix("C", t0)
    for _ in range(8):
        t -= (gain(t0, t) - h) / mix("C", t)
    return t


def design():
    def hoses(loop):
        return {
            n: {"hose": {"bore": f"{b * 1e3:g} mm", "length": f"{length:g} m", "fittings": [{"loss": {"coefficient": k}}]}}
            for n, (b, length, k) in HOSES[loop].items()
        }

    def pump(points):
        return {"pump": {"curve": [[f"{q} L/min", f"{p} kPa"] for q, p in points],
                         "curve_coolant": {"coolant": "mix", "temperature": "25 degC"}}}

    def drop(points):
        return {"coolant": "mix", "temperature": "25 degC", "points": [[f"{q:g} L/min", f"{p:g} kPa"] for q, p in points]}

    bank = {"module": "module", "count": 3, "header": {"square": {"inside": "12 mm"}}, "port_pitch": "60 mm",
            "layout": "same_end", "tail": {"bore": "8 mm", "length": "0.35 m"}, "losses": "none"}
    flat = {"rectangle": {"width": f"{INSIDE[0] * 1e3:g} mm", "height": f"{INSIDE[1] * 1e3:g} mm"}}
    return {
        "format": 1,
        "title": "Two loops on one divided radiator",
        "note": "Written by scripts/vehicle.py together with its answer.",
        "methods": {"entrance_friction": "off"},
        "coolants": {"mix": {"ethylene_glycol": {"volume_fraction": 0.5}}},
        "modules": {"module": {"pressure_drop": drop(MODULE_POINTS), "thermal_resistance": "0.03 K/W",
                               "resistance": [[f"{t} degC", f"{r} mohm"] for t, r in RESISTANCE]}},
        "loops": {
            "battery": {"coolant": "mix",
                        "parts": {"tank": {"expansion_tank": {}}, "pump": pump(BATTERY_PUMP), "bank": {"bank": bank}} | hoses("battery"),
                        "runs": [["tank", "pump", "feed", "bank", "home", "nose.battery", "tank"]]},
            "drive": {"coolant": "mix",
                      "parts": {"tank": {"expansion_tank": {}}, "pump": pump(DRIVE_PUMP),
                                "motor": {"plate": {"pressure_drop": drop(MOTOR_POINTS)}}} | hoses("drive"),
                      "runs": [["tank", "pump", "feed", "motor", "home", "nose.drive", "tank"]]},
        },
        "radiators": {"nose": {
            "face_width": f"{FACE[0]} m", "face_height": f"{FACE[1]} m",
            "tubes": {"count": TUBES, "inside": flat, "length": f"{TUBE_LENGTH} m"},
            "cores": {n: {"tubes": c[0]} for n, c in CORES.items()}, "lost_tubes": 2,
            "air_side": {"conductance_per_face_area": {"at_1_m_s": f"{AIR_SIDE[0]:g} W/(m2 K)", "exponent": AIR_SIDE[1]},
                         "pressure_drop": {"linear": f"{AIR_SIDE[2]:g} Pa s/m", "quadratic": f"{AIR_SIDE[3]:g} Pa s2/m2"}},
            "fans": [{"name": "fan", "face_share_covered": {n: c[1] for n, c in CORES.items()},
                      "curve": [[f"{q} m3/h", f"{p} Pa"] for q, p in FAN]}],
            "ram": {"pressure_coefficient": RAM, "exit_loss": EXIT_LOSS}}},
        "cases": {n: {"air": f"{a:g} degC", "travel_speed": f"{v:g} km/h", "module_current": f"{i:g} A", "heat": {"drive.motor": f"{w:g} W"}}
                  for n, (a, v, i, w) in CASES.items()},
    }


def main():
    (DATA / "derived_vehicle.json").write_text(json.dumps(design(), indent=1) + "\n")
    names = [
        *[f"flow bank.module {k}.circuit 1" for k in (1, 2, 3)], "battery inlet pump", "battery inlet feed",
        *[f"battery outlet bank.module {k}.circuit 1" for k in (1, 2, 3)], "battery inlet home",
        *[f"battery module bank.module {k}.circuit 1" for k in (1, 2, 3)],
        "flow motor", "drive inlet pump", "drive inlet feed", "drive inlet home",
    ]
    lines = [
        "# Flows in kg/s and temperatures in degC of derived_vehicle.json, one coupled root with scipy 1.17.1 and",
        "# properties of CoolProp 8.0.0, by scripts/vehicle.py.",
        "case,what,value",
    ]
    for case in CASES:
        x, worst, re, air = vehicle(case)
        for name, v in zip(names, x):
            scale = 0.1 if name.startswith("flow") else 10.0
            lines.append(f"{case},{name},{v * scale:.13g}")
        for core_name, strips in air[2].items():
            for (u, share), word in zip(strips, ("covered", "open")):
                lines.append(f"{case},air {core_name} {word},{air[0] * u * air[3][core_name] * share:.13g}")
        print(case, f"residual {worst:.1e}, core Re {re[0]:.0f} and {re[1]:.0f}")
    (DATA / "derived_vehicle.csv").write_text("\n".join(lines) + "\n")
    print("\n".join(lines[3:]))


if __name__ == "__main__":
    main()
