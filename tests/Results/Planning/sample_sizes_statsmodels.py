"""Adds to sample_sizes.csv what statsmodels' TTestIndPower says of the same cases.
Made with: python3 sample_sizes_statsmodels.py < sample_sizes.csv > sample_sizes_statsmodels.csv     (statsmodels 0.13.5, Debian bookworm)"""
import csv
import math
import sys

from statsmodels.stats.power import TTestIndPower

test = TTestIndPower()
print("difference,sd,level,power,n_statsmodels,power_at_statsmodels")
for row in csv.DictReader(sys.stdin):
    effect, level, power = float(row["difference"]) / float(row["sd"]), float(row["level"]), float(row["power"])
    n = 2.0
    if test.power(effect, 2, level) < power:
        n = float(test.solve_power(effect_size=effect, alpha=level, power=power, ratio=1.0, alternative="two-sided"))
    at = float(test.power(effect, math.ceil(n - 1e-9), level))
    print(f"{row['difference']},{row['sd']},{row['level']},{row['power']},{n:.9f},{at:.10f}")
