"""Tests, quantiles and power of t by scipy, for numbers that the tests write. Reads JSON on standard input, prints JSON."""
import json
import sys

import numpy as np
from scipy import optimize, stats

asked = json.load(sys.stdin)


def power(difference, sd, first, second, level=0.05):
    degrees = first + second - 2
    shift = difference / (sd * np.sqrt(1 / first + 1 / second))
    limit = stats.t.ppf(1 - level / 2, degrees)
    return stats.nct.sf(limit, degrees, shift) + stats.nct.cdf(-limit, degrees, shift)


def needed(difference, sd):
    n = 2
    while power(difference, sd, n, n) < 0.8:
        n += 1
    return n


def exact(x, y):
    def statistic(a, b):
        return abs(stats.ttest_ind(a, b, equal_var=False).statistic)

    return stats.permutation_test((x, y), statistic, n_resamples=np.inf, alternative="greater", vectorized=False).pvalue


answer = {
    "welch": [list(stats.ttest_ind(y, x, equal_var=False)) for x, y in asked["pairs"]],
    "permutation": [exact(x, y) for x, y in asked["small"]],
    "quantiles": [[stats.t.ppf(p, v) for p, v in asked["quantiles"]], [stats.t.cdf(p, v) for p, v in asked["quantiles"]]],
    "nct": [stats.nct.cdf(t, v, d) for t, v, d in asked["nct"]],
    "power": [power(*p) for p in asked["power"]],
    "needed": [needed(*n) for n in asked["needed"]],
    "smallest": [
        optimize.brentq(lambda d: power(d, sd, a, b) - 0.8, 1e-9, 100 * sd) for sd, a, b in asked["smallest"]
    ],
    "anova": list(stats.f_oneway(*asked["groups"])),
}
print(json.dumps(answer))
