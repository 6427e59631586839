"""Reference values for stacked radiators: battery core before a face-cut pair that shares a tank plate, grille, shroud.

Pinned: CoolProp 8.0.0, numpy 2.4.6, scipy 1.17.1 (Python 3.11 or later).
Run from anywhere; writes ../data/derived_stacked.json (the design) and ../data/derived_stacked.csv (its answer).

From the equations alone; coolant, hoses, pumps, tubes and the crossflow series are those of vehicle.py. New here:

* air: the front face is wholly one core; the rear face is lower and flush at the bottom, so part of the front core has
  nothing behind it, part has lost fins, part a core. Each stream of air keeps its velocity through both faces and pays
  both resistances and the exit loss; before all of them lies a grille, before the fan a shroud, K rho/2 (Q/A)^2 each;
* a stream that flows forwards meets the front core, then what is behind it, at the air that left the front core; one that
  flows backwards enters at the bay's temperature, meets the rear core first, and mixes with the grille's air at the face;
* tank plate: half the conductance between the mixed inlet tanks and half between the mixed outlet tanks of the two cores,
  enthalpy exact: m (h(T_tank) - h(T_in)) = G/2 (T_other tank - T_tank).
"""

import json

import numpy as np
from scipy.optimize import root

from vehicle import AIR_SIDE, DATA, FLAT, PUMP_DENSITY, ZERO, Fluid, crossflow, curve, duct, gain, hose, measured, two_terms

PUMPS = {
    "battery": [(0, 52), (12, 44), (24, 21), (30, 0)],
    "drive": [(0, 60), (10, 50), (20, 28), (28, 0)],
    "aux": [(0, 30), (8, 22), (15, 0)],
}
HOSE = {"battery": (0.016, 2.8, 3.0), "drive": (0.016, 2.0, 3.0), "aux": (0.013, 1.6, 2.0)}
POINTS = {"battery": [(8, 2.6), (30, 25.0)], "drive": [(8, 2.6), (30, 25.0)], "aux": [(4, 2.0), (12, 14.0)]}
FAN = [(0, 250), (900, 170), (1600, 0)]
FRONT, REAR = (0.60, 0.40), (0.60, 0.30)  # face width and height
RECTANGLE = {"drive": (0.0, 0.36), "aux": (0.38, 0.22)}  # from left, width; the whole rear height
COVERED = {"drive": 0.9, "aux": 0.8}
TUBES, INSIDE, LENGTH = 20, (0.026, 0.0028), 0.60  # of either radiator, horizontal
RAM, EXIT_LOSS, GRILLE, SHROUD = 0.4, 1.5, (2.4, 0.15), (0.7, 0.09)
LEAK = 3.0
CASES = {  # air degC, bay degC, travel km/h, heats W
    "moving": (30.0, 30.0, 45.0, (900.0, 3000.0, 150.0)),
    "standing": (34.0, 48.0, 0.0, (400.0, 1500.0, 600.0)),
}
LOOPS = list(PUMPS)
CURVES = {n: curve(p, 1 / 60000) for n, p in PUMPS.items()}
FAN_CURVE = curve(FAN, 1 / 3600)
DROPS = {n: two_terms(p) for n, p in POINTS.items()}


def streams(case):
    """Each stream of air: core in the rear or none, face m2, velocity m/s; and the grille's mass flow."""
    air, _, kmh, _ = CASES[case]
    t = air + ZERO
    rho, rho0 = 101325 / (287.05287 * t), 101325 / (287.05287 * 293.15)
    mu, mu0 = (1.458e-6 * x**1.5 / (x + 110.4) for x in (t, 293.15))
    ram = RAM * 0.5 * rho * (kmh / 3.6) ** 2
    _, _, lin, quad = AIR_SIDE

    def loss(u, faces):
        return faces * (lin * mu / mu0 * u + quad / rho0 * rho * u * abs(u)) + 0.5 * EXIT_LOSS * rho * u * abs(u)

    face = {n: w * REAR[1] for n, (_, w) in RECTANGLE.items()}
    lost = REAR[0] * REAR[1] - sum(face.values())
    beside = FRONT[0] * FRONT[1] - REAR[0] * REAR[1]
    covered = {n: face[n] * COVERED[n] for n in face}
    opened = {n: face[n] - covered[n] for n in face}

    def residual(x):
        u_cov, u_open, u_beside, p_face, p_plenum = x[0], x[1], x[2], x[3] * 10, x[4] * 10
        q_fan = sum(covered.values()) * u_cov
        q = q_fan + (sum(opened.values()) + lost) * u_open + beside * u_beside
        rise = float(FAN_CURVE(min(max(q_fan, 0.0), 1600 / 3600))) * rho / rho0
        head = lambda k, a, flow: k * 0.5 * rho * flow * abs(flow) / a**2
        residual.share = q_fan / (1600 / 3600)
        residual.grille = rho * q
        return [
            ram - head(*GRILLE, q) - p_face,
            p_face - loss(u_cov, 2) - p_plenum,
            p_plenum - head(*SHROUD, q_fan) + rise,
            p_face - loss(u_open, 2),
            p_face - loss(u_beside, 1),
        ]

    x = root(residual, [1.5, 0.5, 0.5, -1.0, -5.0], tol=1e-14).x
    assert max(abs(v) for v in residual(x)) < 1e-8 and 0 < residual.share < 1, (x, residual(x))
    found = []
    for n in RECTANGLE:
        found += [(n, "covered", covered[n], x[0]), (n, "open", opened[n], x[1])]
    found += [(None, "lost", lost, x[1]), (None, "beside", beside, x[2])]
    return rho, found, residual.grille


def tube(name, m, f):
    """Inside conductance and pressure lost by the coolant of a core; laminar or fully turbulent, never between."""
    w, h = INSIDE
    area, perimeter = w * h, 2 * (w + h)
    d = 4 * area / perimeter
    length = LENGTH if name == "battery" else LENGTH * RECTANGLE[name][1] / REAR[0]
    re, pr = m * d / (area * TUBES * f.mu), f.mu * f.cp / f.k
    if re <= 2300:
        a = h / w
        gz = re * pr * d / length
        nu = 7.541 * (1 - 2.610 * a + 4.970 * a**2 - 5.119 * a**3 + 2.702 * a**4 - 0.548 * a**5)
        nu += 0.0668 * gz / (1 + 0.04 * gz ** (2 / 3))
    else:
        fr = (0.79 * np.log(re) - 1.64) ** -2
        nu = fr / 8 * (re - 1000) * pr / (1 + 12.7 * np.sqrt(fr / 8) * (pr ** (2 / 3) - 1))
        nu *= 1 + (d / length) ** (2 / 3)
    jet = 1.622
    drop = duct(m, f, area, d, length, FLAT, 0.0696 * jet**2 + (jet - 1) ** 2 + 1.0, 160.0 + 30.0, TUBES)
    return nu * f.k / d * perimeter * length * TUBES, drop, re


def strip(inside, m, f, share, rho, u, face):
    """Heat per kelvin of (coolant in - air in) in a strip, and heat capacity flow of its air."""
    air, cool = rho * abs(u) * face * 1006.0, m * f.cp * share
    ua = 1 / (1 / (AIR_SIDE[0] * abs(u) ** AIR_SIDE[1] * face) + 1 / (inside * share))
    low, high = min(air, cool), max(air, cool)
    return crossflow(ua / low, low / high) * low, air


def solve(case):
    air_c, bay_c, _, heats = CASES[case]
    t_air, t_bay = air_c + ZERO, bay_c + ZERO
    rho, found, grille = streams(case)
    faces = {"battery": FRONT[0] * FRONT[1]} | {n: w * REAR[1] for n, (_, w) in RECTANGLE.items()}

    # Unknowns a loop: flow, core inlet, core outlet, behind the pump; then the four tanks of the plate.
    def residual(x):
        v = {n: (x[4 * k] * 0.1, *(x[4 * k + 1 : 4 * k + 4] * 10 + ZERO)) for k, n in enumerate(LOOPS)}
        tank = {"drive": x[12:14] * 10 + ZERO, "aux": x[14:16] * 10 + ZERO}
        fluid = {n: Fluid(0.5 * (v[n][1] + v[n][2])) for n in LOOPS}
        inside = {n: tube(n, v[n][0], fluid[n]) for n in LOOPS}
        meets = {n: v[n][1] if n == "battery" else tank[n][0] for n in LOOPS}
        given = {n: 0.0 for n in LOOPS}
        before = {n: [0.0, 0.0] for n in LOOPS}  # air capacity flow, and that times its temperature

        def passing(n, u, face, t):
            if n is None:
                return t
            exchange, c = strip(inside[n][0], v[n][0], fluid[n], face / faces[n], rho, u, face)
            q = exchange * (meets[n] - t)
            given[n] += q
            before[n][0] += c
            before[n][1] += c * t
            return t + q / c

        mixed, sum_k = max(grille, 0.0), max(grille, 0.0) * t_air
        for n, _, face, u in found:
            if u < 0:
                out = passing("battery", u, face, passing(n, u, face, t_bay))
                mixed += rho * -u * face
                sum_k += rho * -u * face * out
        t_face = sum_k / mixed
        for n, _, face, u in found:
            if u >= 0:
                passing(n, u, face, passing("battery", u, face, t_face))

        r = []
        for k, n in enumerate(LOOPS):
            m, t_in, t_out, t_pump = v[n]
            f = Fluid(0.5 * (t_out + t_pump))
            assert 0 < m / f.rho < PUMPS[n][-1][0] / 60000
            rise = float(CURVES[n](m / f.rho)) * 1e3 * f.rho / PUMP_DENSITY
            whole = measured(m, 0.5 * (t_pump + t_in), DROPS[n]) + hose(m, t_in, HOSE[n]) + inside[n][1]
            r += [
                (whole - rise) / 1e4,
                (m * gain(t_pump, t_in) - heats[k]) / 1e3,
                (m * gain(t_out, t_pump) - rise * m / f.rho) / 10,
            ]
            if n == "battery":
                r.append((m * gain(t_in, t_out) + given[n]) / 1e3)
            else:
                other = "aux" if n == "drive" else "drive"
                q = [0.5 * LEAK * (tank[other][i] - tank[n][i]) for i in (0, 1)]
                leaves = t_out  # the outlet tank is mixed: the coolant leaves at its temperature
                r += [
                    (m * gain(t_in, tank[n][0]) - q[0]) / 10,
                    (leaves - tank[n][1]) / 10,
                    (m * gain(tank[n][0], t_out) + given[n] - q[1]) / 1e3,
                ]
        residual.reynolds = [inside[n][2] for n in LOOPS]
        residual.leak = sum(0.5 * LEAK * (tank["drive"][i] - tank["aux"][i]) for i in (0, 1))
        residual.given = given
        residual.air_in = {n: b[1] / b[0] - ZERO for n, b in before.items()}
        residual.air_out = {n: (b[1] + given[n]) / b[0] - ZERO for n, b in before.items()}
        return np.array(r)

    warm = air_c / 10
    start = np.array([3.5, warm + 1, warm + 0.8, warm + 0.8, 3.3, warm + 2.2, warm + 2, warm + 2,
                      1.6, warm + 1.2, warm + 1.0, warm + 1.0, warm + 2.2, warm + 2, warm + 1.2, warm + 1])
    x = root(residual, start, tol=1e-13).x
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
        assert not 2300 < re < 4000, residual.reynolds
    lines = []
    for k, n in enumerate(LOOPS):
        lines.append((f"flow {n}", x[4 * k] * 0.1))
        for i, what in enumerate(("inlet", "outlet")):
            lines.append((f"{what} {n}", x[4 * k + 1 + i] * 10))
        lines += [(f"to_air {n}", residual.given[n]), (f"air_in {n}", residual.air_in[n]), (f"air_out {n}", residual.air_out[n])]
    lines.append(("leak drive to aux", residual.leak))
    lines.append(("grille", grille))
    lines += [(f"stream {n or ''} {word}".replace("  ", " "), rho * u * face) for n, word, face, u in found]
    return lines, worst, residual.reynolds


def design():
    flat = {"rectangle": {"width": f"{INSIDE[0] * 1e3:g} mm", "height": f"{INSIDE[1] * 1e3:g} mm"}}

    def loop(n):
        core = "front.battery" if n == "battery" else f"rear.{n}"
        bore, length, k = HOSE[n]
        parts = {
            "tank": {"expansion_tank": {}},
            "pump": {"pump": {"curve": [[f"{q} L/min", f"{p} kPa"] for q, p in PUMPS[n]],
                              "curve_coolant": {"coolant": "mix", "temperature": "25 degC"}}},
            "source": {"plate": {"pressure_drop": {"coolant": "mix", "temperature": "25 degC",
                                                   "points": [[f"{q:g} L/min", f"{p:g} kPa"] for q, p in POINTS[n]]}}},
            "home": {"hose": {"bore": f"{bore * 1e3:g} mm", "length": f"{length:g} m", "fittings": [{"loss": {"coefficient": k}}]}},
        }
        return {"coolant": "mix", "parts": parts, "runs": [["tank", "pump", "source", "home", core, "tank"]]}

    def radiator(size):
        return {
            "face_width": f"{size[0]:g} m", "face_height": f"{size[1]:g} m",
            "tubes": {"count": TUBES, "inside": flat, "length": f"{LENGTH} m"},
            "air_side": {"conductance_per_face_area": {"at_1_m_s": f"{AIR_SIDE[0]:g} W/(m2 K)", "exponent": AIR_SIDE[1]},
                         "pressure_drop": {"linear": f"{AIR_SIDE[2]:g} Pa s/m", "quadratic": f"{AIR_SIDE[3]:g} Pa s2/m2"}},
        }

    loss = lambda k, a: {"loss_coefficient": k, "area": f"{a:g} m2"}
    return {
        "format": 1,
        "title": "Three loops on stacked radiators",
        "note": "Written by scripts/stacked.py together with its answer.",
        "methods": {"entrance_friction": "off"},
        "coolants": {"mix": {"ethylene_glycol": {"volume_fraction": 0.5}}},
        "loops": {n: loop(n) for n in LOOPS},
        "radiators": {
            "rear": radiator(REAR) | {
                "cores": {n: {"face": {"from_left": f"{x:g} m", "from_bottom": "0 m", "width": f"{w:g} m", "height": f"{REAR[1]:g} m"}}
                          for n, (x, w) in RECTANGLE.items()},
                "behind": "front", "offset": {"from_left": "0 m", "from_bottom": "0 m"},
                "tank_leaks": [{"between": ["drive", "aux"], "conductance": f"{LEAK} W/K"}],
                "fans": [{"name": "fan", "face_share_covered": COVERED, "shroud_loss": loss(*SHROUD),
                          "curve": [[f"{q} m3/h", f"{p} Pa"] for q, p in FAN]}]},
            "front": radiator(FRONT) | {
                "cores": {"battery": {"tubes": TUBES}}, "air_losses": {"grille": loss(*GRILLE)},
                "ram": {"pressure_coefficient": RAM, "exit_loss": EXIT_LOSS}}},
        "cases": {n: {"air": f"{a:g} degC", "bay_temperature": f"{b:g} degC", "travel_speed": f"{v:g} km/h",
                      "heat": {f"{loop}.source": f"{w:g} W" for loop, w in zip(LOOPS, heats)}}
                  for n, (a, b, v, heats) in CASES.items()},
    }


def main():
    (DATA / "derived_stacked.json").write_text(json.dumps(design(), indent=1) + "\n")
    lines = [
        "# Flows in kg/s, temperatures in degC and heats in W of derived_stacked.json, one coupled root with scipy 1.17.1",
        "# and properties of CoolProp 8.0.0, by scripts/stacked.py.",
        "case,what,value",
    ]
    for case in CASES:
        rows, worst, re = solve(case)
        lines += [f"{case},{what},{value:.13g}" for what, value in rows]
        print(case, f"residual {worst:.1e}, core Re", [round(r) for r in re])
    (DATA / "derived_stacked.csv").write_text("\n".join(lines) + "\n")
    print("\n".join(lines[3:]))


if __name__ == "__main__":
    main()
