"""The bare motor's curve by numpy (polyfit with its covariance), for readings that the test writes. Reads JSON on standard input, prints JSON."""
import json
import sys

import numpy as np

asked = json.load(sys.stdin)
x, y = np.array(asked["x"]), np.array(asked["y"])
coefficients, covariance = np.polyfit(x, y, asked["order"], cov=True)
at = np.array(asked["at"])
powers = np.vander(at, asked["order"] + 1)
print(json.dumps({
    "value": np.polyval(coefficients, at).tolist(),
    "u": np.sqrt(np.einsum("ij,jk,ik->i", powers, covariance, powers)).tolist(),
}))
