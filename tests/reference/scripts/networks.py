"""Reference values for networks: the looped benchmark and seeded random networks.

Pinned: numpy 2.4.6, scipy 1.17.1 (Python 3.11 or later).
Run from anywhere; writes ../data/alperovits1977_two_loop.csv and ../data/random/*.json with a
*.csv of the same name. The equations are written down here from the books alone:

    flow in = flow out at every node,
    p_a + rho g z_a - p_b - rho g z_b = f L/D rho v|v|/2 + (K + 50 K/Re) rho v|v|/2 - rise(Q),
    f by Churchill (1977), 64/Re below Re 1,

p total pressure, rise through the points of the pump by SciPy's PCHIP. Solved as one system by
`scipy.optimize.root` (hybr), polished by Newton steps with complex-step slopes.
"""

import json
import pathlib

import numpy as np
import scipy
from scipy.interpolate import PchipInterpolator
from scipy.optimize import root

assert np.__version__ == "2.4.6", np.__version__
assert scipy.__version__ == "1.17.1", scipy.__version__

DATA = pathlib.Path(__file__).resolve().parent.parent / "data"
G = 9.80665


def benchmark():
    """Alperovits and Shamir (1977): h = w L Q^1.852/(C^1.852 D^e), flows and pressure heads."""
    ends = [(1, 2), (2, 3), (2, 4), (4, 5), (4, 6), (6, 7), (3, 5), (7, 5)]
    bore = np.array([18, 10, 16, 4, 16, 10, 10, 1]) * 0.0254
    out = np.array([100, 100, 120, 270, 330, 200]) / 3600.0
    high = np.array([210, 150, 160, 155, 150, 165, 160.0])

    def solve(w, exponent):
        r = w * 1000.0 / (130.0**1.852 * bore**exponent)

        def residual(x):
            q, head = x[:8] / 10.0, np.concatenate([[210.0], x[8:] * 100.0])
            loss = r * np.sign(q) * np.abs(q) ** 1.852
            node = np.zeros(7)
            for k, (a, b) in enumerate(ends):
                node[a - 1] -= q[k]
                node[b - 1] += q[k]
            line = [head[a - 1] - head[b - 1] - loss[k] for k, (a, b) in enumerate(ends)]
            return np.concatenate([(node[1:] - out) * 10.0, np.array(line) / 100.0])

        start = np.concatenate([np.array([0.31, 0.09, 0.19, 0.01, 0.15, 0.05, 0.06, 2e-4]) * 10, np.full(6, 1.9)])
        x = root(residual, start, tol=1e-15).x
        for _ in range(5):
            jac = np.empty((14, 14))
            for j in range(14):
                h = 1e-7 * max(abs(x[j]), 1e-4)
                up, down = x.copy(), x.copy()
                up[j] += h
                down[j] -= h
                jac[:, j] = (residual(up) - residual(down)) / (2 * h)
            x = x - np.linalg.solve(jac, residual(x))
        assert np.abs(residual(x)).max() < 1e-13
        return x[:8] / 10.0 * 3600.0, x[8:] * 100.0 - high[1:]

    lines = [
        "# Two-loop network of Alperovits and Shamir (1977), Water Resour. Res. 13(6):885-900, diameters",
        "# 18 10 16 4 16 10 10 1 in; h = w L Q^1.852/(C^1.852 D^e). Input from memory, confirmed in two listings.",
        "# Flow of pipes 1..8 in m3/h, pressure head of nodes 2..7 in m; scipy 1.17.1 by scripts/networks.py.",
        "w,e," + ",".join(f"flow_{k}" for k in range(1, 9)) + "," + ",".join(f"head_{k}" for k in range(2, 8)),
    ]
    for w, e in [(10.667, 4.871), (10.67, 4.8704)]:
        q, head = solve(w, e)
        lines.append(",".join([str(w), str(e)] + [f"{v:.12g}" for v in q] + [f"{v:.10g}" for v in head]))
        print(lines[-1])
    (DATA / "alperovits1977_two_loop.csv").write_text("\n".join(lines) + "\n")


# --- random networks -------------------------------------------------------------------------------------------

RHO, MU = 1060.0, 3.5e-3
CURVES = [
    [(0, 52), (12, 44), (24, 21), (30, 0)],
    [(0, 80), (20, 71), (45, 38), (60, 0)],
    [(0, 60), (6, 52), (12, 34), (18, 0)],
]


class Pipe:
    def __init__(self, rng, a, b, bore=None):
        self.a, self.b = a, b
        self.bore_mm = bore or float(rng.choice([8, 10, 13, 16, 19, 25, 32, 40]))
        self.length_mm = round(float(rng.uniform(300, 8000)))
        self.rough_um = float(rng.choice([1.5, 1.5, 45.0, 200.0]))
        self.k = float(rng.choice([0.0, 0.0, 0.5, 1.3, 4.0]))
        self.pump = None

    def loss(self, m):
        """Pressure lost at a mass flow of one sign or the other; complex flows carry the slope."""
        sign = 1.0 if m.real >= 0 else -1.0
        m = m * sign
        d, length, area = self.bore_mm * 1e-3, self.length_mm * 1e-3, np.pi / 4 * (self.bore_mm * 1e-3) ** 2
        re = m * d / (MU * area)
        half = m * m / (2 * RHO * area**2)
        # f rho v^2/2 and K rho v^2/2, written so that nothing is divided by a resting flow.
        per_re = m * MU / (2 * RHO * area * d)  # rho v^2/2 / Re
        if re.real < 1.0:
            wall = 64.0 * per_re * length / d
        else:
            a = (2.457 * np.log(1.0 / ((7.0 / re) ** 0.9 + 0.27 * self.rough_um * 1e-6 / d))) ** 16
            b = (37530.0 / re) ** 16
            wall = 8.0 * ((8.0 / re) ** 12 + (a + b) ** -1.5) ** (1.0 / 12.0) * half * length / d
        drop = sign * (wall + self.k * half + 50.0 * self.k * per_re)
        if self.pump is not None:
            # Beyond its points the curve goes on straight, on the way only: the answer lies on it.
            curve, q = self.pump_curve(), sign * m / RHO
            at = min(max(q.real, 0.0), self.pump[-1][0] / 60000.0)
            slope = float(curve.derivative()(at))
            drop = drop - (float(curve(at)) + slope * (q - at))
        return drop

    def pump_curve(self):
        x, y = zip(*self.pump)
        return PchipInterpolator(np.array(x) / 60000.0, np.array(y) * 1000.0)


def graph(rng, nodes, branches):
    """A connected random graph: a tree, then chords between nodes that stand near one another."""
    place = rng.uniform(0, 1, (nodes, 2))
    pairs = []
    for n in range(1, nodes):
        near = np.argsort(((place[:n] - place[n]) ** 2).sum(1))
        pairs.append((int(near[rng.integers(0, min(2, n))]), n))
    have = {tuple(sorted(p)) for p in pairs}
    tries = 0
    while len(pairs) < branches and tries < 100000:
        tries += 1
        a = int(rng.integers(0, nodes))
        b = int(np.argsort(((place - place[a]) ** 2).sum(1))[rng.integers(1, min(6, nodes))])
        if tuple(sorted((a, b))) not in have:
            have.add(tuple(sorted((a, b))))
            pairs.append((a, b) if rng.random() < 0.5 else (b, a))
    return pairs


def make(seed, closed, branches):
    rng = np.random.default_rng(seed)
    nodes = max(6, int(branches / rng.uniform(1.3, 1.7)))
    side = nodes // 5 if seed % 3 == 0 else 0  # nodes of a side piece behind a bridge
    high = [round(float(v), 2) for v in rng.uniform(0, 3, nodes + side)]
    pipes = [Pipe(rng, a, b) for a, b in graph(rng, nodes, branches - side - (side > 0))]
    fixed, draws, bridge = {}, {}, None
    if side:
        # A bridge to a ring that neither feeds nor draws: exactly no flow.
        bridge = len(pipes)
        pipes.append(Pipe(rng, int(rng.integers(0, nodes)), nodes))
        pipes += [Pipe(rng, nodes + k, nodes + (k + 1) % side) for k in range(side)] if side > 2 else []
    if closed:
        fixed[0] = 0.0
        pump = pipes[0]
        # Push along the first pipe, long and narrow enough that the pump works on its curve.
        pump.pump = CURVES[1]
        pump.bore_mm, pump.length_mm = 19.0, 6000
    else:
        for n in range(1 + seed % 3):
            fixed[n] = float(round(rng.uniform(0, 20), 1))
        for n in range(len(fixed), nodes):
            if rng.random() < 0.6:
                draws[n] = float(round(rng.uniform(0.2, 6.0), 2)) * (-1 if rng.random() < 0.1 else 1)
    return pipes, high, fixed, draws, bridge


def solve(pipes, high, fixed, draws):
    count, nodes = len(pipes), len(high)
    free = [n for n in range(nodes) if n not in fixed]
    at = {n: k for k, n in enumerate(free)}
    z = np.array(high) * RHO * G
    out = np.zeros(nodes)
    for n, litres in draws.items():
        out[n] = litres / 60000.0 * RHO
    flow_scale, pressure_scale = 0.1, 2e4

    def system(x):
        m, p = x[:count] * flow_scale, x[count:] * pressure_scale
        total = np.array([p[at[n]] if n in at else fixed[n] * 1e3 + z[n] for n in range(nodes)])
        r = np.empty(len(x))
        jac = np.zeros((len(x), len(x)))
        node = -out.copy()
        for j, pipe in enumerate(pipes):
            loss = pipe.loss(complex(m[j], 1e-40))
            r[j] = (total[pipe.a] - total[pipe.b] - loss.real) / pressure_scale
            jac[j, j] = -loss.imag * 1e40 * flow_scale / pressure_scale
            for n, s in [(pipe.a, 1.0), (pipe.b, -1.0)]:
                node[n] -= s * m[j]
                if n in at:
                    jac[j, count + at[n]] += s
                    jac[count + at[n], j] -= s
        r[count:] = node[free] / flow_scale
        return r, jac

    # Start: every pipe at 0.3 m/s, made linear.
    start = np.zeros(count + len(free))
    a, rhs = np.zeros((len(start), len(start))), np.zeros(len(start))
    for j, pipe in enumerate(pipes):
        guess = 0.3 * RHO * np.pi / 4 * (pipe.bore_mm * 1e-3) ** 2
        saved, pipe.pump = pipe.pump, None
        stiff = pipe.loss(complex(guess)).real / guess
        pipe.pump = saved
        a[j, j] = -stiff * flow_scale / pressure_scale
        for n, s in [(pipe.a, 1.0), (pipe.b, -1.0)]:
            if n in at:
                a[j, count + at[n]] += s
                a[count + at[n], j] -= s
            else:
                rhs[j] -= s * (fixed[n] * 1e3 + z[n]) / pressure_scale
        if pipe.pump is not None:
            rhs[j] -= 0.7 * pipe.pump[0][1] * 1e3 / pressure_scale
    rhs[count:] = out[free] / flow_scale
    start = np.linalg.solve(a, rhs)
    found = root(system, start, jac=True, method="hybr", options={"maxfev": 4000})
    x = found.x
    if not found.success:
        found = root(system, start, jac=True, method="lm", options={"maxiter": 4000})
        x = found.x
    for _ in range(8):
        r, jac = system(x)
        x = x - np.linalg.solve(jac, r)
    worst = np.abs(system(x)[0]).max()
    assert worst < 1e-11, worst
    total = np.array([x[count + at[n]] * pressure_scale if n in at else fixed[n] * 1e3 + z[n] for n in range(nodes)])
    return x[:count] * flow_scale, total - z, worst


def design(title, pipes, high, fixed, draws, closed):
    parts, runs = {}, []
    for n, level in enumerate(high):
        stand = {"elevation": f"{level:g} m"}
        if n in fixed:
            kind = "expansion_tank" if closed else "open_end"
            parts[f"n{n}"] = {kind: ({"gauge_pressure": "0 kPa"} if closed else {"pressure": f"{fixed[n]:g} kPa"}) | stand}
        elif n in draws:
            way = "outflow" if draws[n] > 0 else "inflow"
            parts[f"n{n}"] = {"draw": {way: f"{abs(draws[n]):g} L/min"} | stand}
        else:
            parts[f"n{n}"] = {"joint": stand}
    for j, p in enumerate(pipes):
        hose = {"bore": f"{p.bore_mm:g} mm", "length": f"{p.length_mm:g} mm", "roughness": f"{p.rough_um:g} um"}
        if p.k:
            hose["fittings"] = [{"loss": {"coefficient": p.k}}]
        parts[f"p{j}"] = {"hose": hose}
        run = [f"n{p.a}", f"p{j}", f"n{p.b}"]
        if p.pump is not None:
            parts["pump"] = {"pump": {"curve": [[f"{q} L/min", f"{dp} kPa"] for q, dp in p.pump],
                                      "curve_coolant": {"coolant": "mix", "temperature": "20 degC"}}}
            run.insert(1, "pump")
        runs.append(run)
    row = {"density": f"{RHO:g} kg/m3", "viscosity": f"{MU * 1e3:g} mPa s",
           "specific_heat": "3400 J/(kg K)", "conductivity": "0.4 W/(m K)"}
    coolant = {"table": {"rows": [{"temperature": "0 degC"} | row, {"temperature": "100 degC"} | row]}}
    return {"format": 1, "title": title, "methods": {"entrance_friction": "off"}, "coolants": {"mix": coolant},
            "loops": {"net": {"coolant": "mix", "parts": parts, "runs": runs}}, "cases": {"still": {"air": "20 degC"}}}


def random_networks():
    folder = DATA / "random"
    folder.mkdir(exist_ok=True)
    sizes = [20, 24, 28, 32, 36, 45, 55, 65, 80, 100, 140, 200]
    plans = [(f"open_{k + 1:02}", 100 + k, False, s) for k, s in enumerate(sizes)]
    plans += [(f"closed_{k + 1:02}", 200 + k, True, s) for k, s in enumerate([20, 30, 45, 70, 110, 160])]
    for name, seed, closed, branches in plans:
        pipes, high, fixed, draws, bridge = make(seed, closed, branches)
        flow, pressure, worst = solve(pipes, high, fixed, draws)
        bridges = "" if bridge is None else f" Pipe p{bridge} is a bridge without flow."
        if bridge is not None:
            assert abs(flow[bridge]) < 1e-12 * np.abs(flow).max()
            flow[bridge:] = np.where(np.abs(flow[bridge:]) < 1e-12 * np.abs(flow).max(), 0.0, flow[bridge:])
        for p, m in zip(pipes, flow):
            if p.pump is not None:
                assert 0 < m / RHO * 60000 < p.pump[-1][0], m / RHO * 60000
        text = json.dumps(design(f"Random network {name}, seed {seed}", pipes, high, fixed, draws, closed), separators=(",", ":"))
        (folder / f"{name}.json").write_text(text + "\n")
        lines = [
            f"# Random network {name}.json, seed {seed}: mass flow of pipes in kg/s, total gauge pressure of nodes in Pa.",
            f"# Solved with scipy 1.17.1 by scripts/networks.py; largest scaled residual {worst:.1e}.{bridges}",
            "name,value",
        ]
        lines += [f"p{j},{v:.15g}" for j, v in enumerate(flow)]
        lines += [f"n{n},{v:.15g}" for n, v in enumerate(pressure)]
        (folder / f"{name}.csv").write_text("\n".join(lines) + "\n")
        d = np.array([p.bore_mm for p in pipes]) * 1e-3
        re = np.abs(flow) * d / (MU * np.pi / 4 * d**2)
        print(name, len(pipes), len(high), f"residual {worst:.1e} largest {np.abs(flow).max():.3f} kg/s, Re {re.min():.1e} .. {re.max():.1e}",
              f"in 1000-4000: {((re > 1000) & (re < 4000)).sum()} above: {(re > 4000).sum()}", bridges)


if __name__ == "__main__":
    benchmark()
    random_networks()
