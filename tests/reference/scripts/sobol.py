"""Points of the Sobol sequence, for the sampling of sweeps.

Pinned: numpy 2.4.6, scipy 1.17.1 (Python 3.11 or later).
Run from anywhere; writes ../data/joe2008_sobol.csv: scipy.stats.qmc.Sobol without scrambling, whose direction numbers
are the table "new-joe-kuo-6" of Joe and Kuo (2008), the first 16 dimensions, points 0 to 31 and 1000 to 1031.
"""

import pathlib

import numpy as np
import scipy
from scipy.stats import qmc

assert np.__version__ == "2.4.6", np.__version__
assert scipy.__version__ == "1.17.1", scipy.__version__

DATA = pathlib.Path(__file__).resolve().parent.parent / "data"
DIMENSIONS = 16

points = qmc.Sobol(DIMENSIONS, scramble=False, bits=32).random(2048)
with open(DATA / "joe2008_sobol.csv", "w", encoding="utf-8") as out:
    out.write("# Sobol points after Joe and Kuo (2008), SIAM J. Sci. Comput. 30, 2635-2654, table new-joe-kuo-6;\n")
    out.write("# by scipy 1.17.1, unscrambled, 32 digits (scripts/sobol.py). Exact: every number is a binary fraction.\n")
    out.write("point," + ",".join(f"x{d}" for d in range(DIMENSIONS)) + "\n")
    for k in [*range(32), *range(1000, 1032)]:
        out.write(f"{k}," + ",".join(repr(float(x)) for x in points[k]) + "\n")
