"""Rank correlations and Wilson intervals by scipy: the numbers that the launch statistics are held against.

Run: python3 make.py   (needs scipy; writes spearman.csv and wilson.csv beside itself)
"""

import numpy
import scipy
from scipy import stats

rng = numpy.random.default_rng(11)
head = f"# scipy {scipy.__version__}, numpy {numpy.__version__}\n"


def words(values):
    return " ".join(repr(float(v)) for v in values)


pairs = [
    (rng.normal(size=12).round(3), rng.normal(size=12).round(3)),
    # Many equal values on one side, as with clean or not.
    (rng.normal(size=30).round(3), rng.integers(0, 2, size=30)),
    (rng.integers(0, 4, size=25), rng.integers(0, 3, size=25)),
    (numpy.arange(8), numpy.arange(8) ** 3),
    (numpy.arange(8), -numpy.exp(numpy.arange(8))),
    (rng.integers(0, 5, size=60), rng.normal(size=60).round(2)),
]
with open("spearman.csv", "w", encoding="utf-8") as out:
    out.write(head + "# x;y;rank correlation (scipy.stats.spearmanr)\n")
    for x, y in pairs:
        out.write(f"{words(x)};{words(y)};{float(stats.spearmanr(x, y).statistic)!r}\n")
with open("wilson.csv", "w", encoding="utf-8") as out:
    out.write(head + "# successes,trials,low,high (scipy.stats.binomtest(...).proportion_ci(0.95, 'wilson'))\n")
    for k, n in [(0, 10), (1, 29), (15, 148), (81, 263), (500, 500), (474, 500), (9512, 10000)]:
        ci = stats.binomtest(k, n).proportion_ci(0.95, method="wilson")
        out.write(f"{k},{n},{float(ci.low)!r},{float(ci.high)!r}\n")
