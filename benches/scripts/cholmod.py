"""CHOLMOD as a baseline: one factorisation with solution of a grid's Laplacian, and Newton on header(64) by nodes.

Made for SciPy 1.17.1, NumPy 2.3.5 and scikit-sparse 0.4.16 over SuiteSparse 5.12. The grid is the lattice of
benches/networks (a fixed pressure in each tile of 32 x 32) with random conductances: what a factorisation costs depends on the graph
alone. The header is that of header.py; laws are NumPy over all branches at once, the matrix over nodes is CHOLMOD's, analysed once.
Run: python benches/scripts/cholmod.py DENSITY VISCOSITY [SIDE ...]"""
import sys, time
import numpy as np
from scipy.interpolate import PchipInterpolator
from scipy.sparse import coo_matrix, csc_matrix, diags
from sksparse.cholmod import analyze

RHO, MU, N = float(sys.argv[1]), float(sys.argv[2]), 64


def best(work, times):
    spent = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        spent.append(time.perf_counter() - begun)
    return min(spent)


def laplacian(ends, conductance, places):
    """Over the nodes that have a place, from the ends and conductance of every branch."""
    a, b = places[ends[:, 0]], places[ends[:, 1]]
    rows, cols, values = [], [], []
    for i, j in ((a, a), (b, b), (a, b), (b, a)):
        kept = (i >= 0) & (j >= 0)
        rows.append(i[kept]), cols.append(j[kept])
        values.append(np.where(i[kept] == j[kept], conductance[kept], -conductance[kept]))
    size = places.max() + 1
    return coo_matrix((np.concatenate(values), (np.concatenate(rows), np.concatenate(cols))), (size, size)).tocsc()


def grid(side):
    node = np.arange(side * side).reshape(side, side)
    ends = np.concatenate([np.stack([node[:, :-1].ravel(), node[:, 1:].ravel()], 1),
                           np.stack([node[:-1].ravel(), node[1:].ravel()], 1)])
    fixed = np.zeros((side, side), bool)
    fixed[::32, ::32] = True
    places = np.where(fixed.ravel(), -1, np.cumsum(~fixed.ravel()) - 1)
    random = np.random.default_rng(1)
    matrix = laplacian(ends, random.uniform(0.1, 10, len(ends)), places)
    right = random.normal(size=matrix.shape[0])
    factor = analyze(matrix, ordering_method="amd")

    def once():
        factor.cholesky_inplace(matrix)
        return factor(right)

    left = np.abs(matrix @ once() - right).max()
    assert left < 1e-9, left
    whole = best(lambda: analyze(matrix, ordering_method="amd"), 3)
    print(f"grid of {len(ends)} branches: factorisation and solution {1e3 * best(once, 7):.1f} ms, analysis {1e3 * whole:.1f} ms")


MODULE, SEGMENT, HOSE, CORE = (8e-3, 1.2, 4.0), (46e-3, 0.045, 0.1), (38e-3, 1.5, 2.0), (25e-3, 2.0, 6.0)
PUMP = PchipInterpolator([0.0, 1e-3, 2e-3], [60e3, 40e3, 0.0])
RISE = PUMP.derivative()


def header():
    supply, back = 2 + 2 * np.arange(N), 3 + 2 * np.arange(N)
    warm, cold = 2 + 2 * N, 3 + 2 * N
    pipes = [(1, supply[0], HOSE), (back[-1], warm, HOSE), (warm, cold, CORE), (warm, cold, CORE), (cold, 0, HOSE)]
    for k in range(N):
        pipes.append((supply[k], back[k], MODULE))
        if k + 1 < N:
            pipes += [(supply[k], supply[k + 1], SEGMENT), (back[k], back[k + 1], SEGMENT)]
    ends = np.array([(0, 1)] + [(a, b) for a, b, _ in pipes])
    bore, length, loss = np.array([p for _, _, p in pipes]).T
    area = np.pi / 4 * bore**2
    places = np.arange(4 + 2 * N) - 1
    incidence = csc_matrix((np.repeat([[1.0], [-1.0]], len(ends), 1).ravel(),
                            (np.tile(np.arange(len(ends)), 2), ends.T.ravel())))[:, 1:]
    across = incidence.T.tocsr()
    rough = 0.27 * 2e-6 / bore

    def laws(m):
        """Churchill (1977) with its slope over Re; the pump's curve with its own."""
        re = np.maximum(RHO * np.abs(m[1:]) / (RHO * area) * bore / MU, 1.0)
        inner = (7 / re)**0.9 + rough
        a, b = (-2.457 * np.log(inner))**16, (37530 / re)**16
        t = (8 / re)**12 + (a + b)**-1.5
        f = 8 * t**(1 / 12)
        da = 16 * a / np.log(inner) * (-0.9 * (7 / re)**0.9 / re) / inner
        dt = -12 * (8 / re)**12 / re - 1.5 * (a + b)**-2.5 * (da - 16 * b / re)
        head = m[1:] / (2 * RHO * area**2)
        total = f * length / bore + loss
        drop = total * head * np.abs(m[1:])
        slope = 2 * total * np.abs(head) + f * dt / t / 12 * re * length / bore * np.abs(head)
        q = m[0] / RHO
        return np.append(-PUMP(q), drop), np.append(-RISE(q) / RHO, slope)

    first = np.append(0.5, 0.4 * RHO * area)
    factor = analyze((across @ incidence).tocsc())
    steps = 0

    def solve():
        nonlocal steps
        flow, level = first.copy(), np.zeros(places.max() + 1)
        for steps in range(60):
            drop, slope = laws(flow)
            off = incidence @ level - drop
            excess = across @ flow
            if steps and np.abs(off).max() < 1e-8 * np.abs(drop).max() and np.abs(excess).max() < 1e-12:
                return flow
            factor.cholesky_inplace((across @ diags(1 / slope) @ incidence).tocsc())
            move = factor(-excess - across @ (off / slope))
            level = level + move
            flow = flow + (off + incidence @ move) / slope
        raise SystemExit("not settled")

    flow = solve()
    print(f"header {N}: {1e6 * best(solve, 50):.0f} us, {steps} steps; pump {flow[0]:.12g} kg/s")


if __name__ == "__main__":
    header()
    for side in [int(s) for s in sys.argv[3:]] or [224]:
        grid(side)
