"""header(64) of benches/networks/mod.rs by SciPy 1.17.1 and fluids 1.3.1: flows to assert, and the time of an ordinary script.

Two scripts: Newton on flows and pressures with SciPy's sparse LU, friction factors by fluids one branch at a time, slopes by
one difference, stopped at 1e-8 of the largest head loss; and scipy.optimize.root on the same unknowns, which makes its own slopes.
Run: python benches/scripts/header.py DENSITY VISCOSITY"""
import sys, time
import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from scipy.optimize import root
from scipy.interpolate import PchipInterpolator
from fluids.friction import friction_factor

RHO, MU, N = float(sys.argv[1]), float(sys.argv[2]), 64
MODULE, SEGMENT, HOSE, CORE = (8e-3, 1.2, 4.0), (46e-3, 0.045, 0.1), (38e-3, 1.5, 2.0), (25e-3, 2.0, 6.0)
PUMP = PchipInterpolator([0.0, 1e-3, 2e-3], [60e3, 40e3, 0.0])
tank, out, supply, back = 0, 1, [2 + 2 * k for k in range(N)], [3 + 2 * k for k in range(N)]
warm, cold = 2 + 2 * N, 3 + 2 * N
branches = [(tank, out, None), (out, supply[0], HOSE)]
for k in range(N):
    branches.append((supply[k], back[k], MODULE))
    if k + 1 < N:
        branches += [(supply[k], supply[k + 1], SEGMENT), (back[k], back[k + 1], SEGMENT)]
branches += [(back[-1], warm, HOSE), (warm, cold, CORE), (warm, cold, CORE), (cold, tank, HOSE)]
B, P = len(branches), 4 + 2 * N


def drop(pipe, m):
    if pipe is None:
        return -float(PUMP(m / RHO))
    bore, length, loss = pipe
    area = np.pi / 4 * bore**2
    v = m / (RHO * area)
    re = max(RHO * abs(v) * bore / MU, 1e-6)
    f = 64 / re if re < 1 else friction_factor(re, 2e-6 / bore, Method="Churchill_1977")
    return (f * length / bore + loss) * RHO * v * abs(v) / 2


def solve():
    flow = np.array([0.5 if p is None else 0.4 * RHO * np.pi / 4 * p[0]**2 for _, _, p in branches])
    level = np.zeros(P)
    for step in range(60):
        d = np.array([drop(p, m) for (_, _, p), m in zip(branches, flow)])
        h = 1e-6 * np.maximum(np.abs(flow), 1e-4)
        s = (np.array([drop(p, m + e) for (_, _, p), m, e in zip(branches, flow, h)]) - d) / h
        rows, cols, values, r = [], [], [], np.zeros(B + P - 1)
        for j, (a, b, _) in enumerate(branches):
            rows.append(j), cols.append(j), values.append(-s[j])
            r[j] = level[a] - level[b] - d[j]
            for node, sign in ((a, 1.0), (b, -1.0)):
                if node != tank:
                    q = B + node - 1
                    rows.extend([j, q]), cols.extend([q, j]), values.extend([sign, -sign])
                    r[q] -= sign * flow[j]
        dx = spsolve(coo_matrix((values, (rows, cols))).tocsc(), -r)
        flow, level[1:] = flow + dx[:B], level[1:] + dx[B:]
        if np.abs(r[:B]).max() < 1e-8 * np.abs(d).max() and np.abs(r[B:]).max() < 1e-12:
            return flow, step
    raise SystemExit("not settled")


def residual(x):
    flow, level = x[:B], np.concatenate([[0.0], x[B:]])
    r = np.zeros(B + P)
    for j, ((a, b, p), m) in enumerate(zip(branches, flow)):
        r[j] = (level[a] - level[b]) - drop(p, m) / 1e4
        r[B + a] -= m
        r[B + b] += m
    return np.delete(r, B + tank)


def by_root():
    start = np.array([0.5 if p is None else 0.4 * RHO * np.pi / 4 * p[0]**2 for _, _, p in branches])
    found = root(residual, np.concatenate([start, np.zeros(P - 1)]))
    if not found.success:
        raise SystemExit(found.message)
    return found.x[:B]


flow, steps = solve()
best = min((lambda t: (solve(), time.perf_counter() - t)[1])(time.perf_counter()) for _ in range(5))
print(f"pump {flow[0]:.15g} kg/s, first module {flow[2]:.15g}, last {flow[-5]:.15g}; {steps} steps; {best * 1e3:.1f} ms")
begun = time.perf_counter()
other = by_root()
print(f"scipy.optimize.root: {(time.perf_counter() - begun) * 1e3:.0f} ms, first module {other[2]:.9g}")
