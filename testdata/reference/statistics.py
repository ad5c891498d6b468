"""Reference numbers for the statistics of src/stats, computed with SciPy.

Run: python3 statistics.py > statistics.json   (the versions used stand in the file)
"""
import json
import sys

import numpy as np
import scipy
from scipy import ndimage, stats

ALPHA = np.sqrt(np.log(2) / np.pi)


def low_pass(values, cutoff):
    """ISO 16610-21 inside by scipy.ndimage, a weighted straight line (numpy) near the ends."""
    reach = int(np.floor(cutoff))
    sigma = ALPHA * cutoff / np.sqrt(2 * np.pi)
    out = ndimage.gaussian_filter1d(values, sigma, radius=reach)
    x = np.arange(len(values))
    for at in list(range(reach)) + list(range(len(values) - reach, len(values))):
        near = np.abs(x - at) <= reach
        weights = np.exp(-0.5 * ((x[near] - at) / sigma) ** 2)
        # numpy squares what it is given.
        line = np.polyfit(x[near] - at, values[near], 1, w=np.sqrt(weights))
        out[at] = line[1]
    return out


rng = np.random.default_rng(20)
walk = np.cumsum(rng.normal(size=240)) * 0.1 + 0.02 * np.arange(240)
x = np.sort(rng.uniform(0, 100, 41))
y = 3 - 0.2 * x + rng.standard_t(2, 41)
slope = stats.theilslopes(y, x)[0]
json.dump(
    {
        "versions": {"numpy": np.__version__, "scipy": scipy.__version__},
        "filter": [
            {"cutoff": c, "values": walk.tolist(), "slow": low_pass(walk, c).tolist()}
            for c in (7.5, 23.0, 60.0)
        ],
        "normal": [[p, stats.norm.ppf(p)] for p in (0.001, 0.3, 0.9, 0.9995, 0.9999999)],
        "student": [
            [p, f, stats.t.ppf(p, f)]
            for p in (0.9, 0.975, 0.999, 0.99999)
            for f in (3.0, 8.0, 25.5, 400.0)
        ],
        "slope": {"x": x.tolist(), "y": y.tolist(), "slope": slope},
    },
    sys.stdout,
)
print()
