"""The loss law of a free spin from its marks by scipy: the equation of motion solved by DOP853, its parameters by least_squares.

Reads lines 'time_s,turns' from the file named first, then exponents. Prints a line
'free,<coefficients>,<uncertainties>' of those exponents, a line 'bounded,<deceleration at 600, 1000, 1800 rpm>' with all five candidate
exponents kept from below 0, and a line 'time,<seconds>' from 2000 to 700 rpm by scipy.integrate.quad over the first law.
Nothing here shares a line or a method with the program's own fit.
"""
import sys

import numpy as np
from scipy.integrate import quad, solve_ivp
from scipy.optimize import least_squares

REF = 1000 * np.pi / 30
marks = np.loadtxt(sys.argv[1], delimiter=",")
time, angle = marks[:, 0], 2 * np.pi * marks[:, 1]
exponents = np.array([float(p) for p in sys.argv[2:]])


def fall(omega, coefficients, powers):
    return sum(a * (omega / REF) ** p for a, p in zip(coefficients, powers))


def left(parameters, powers):
    start, omega, coefficients = parameters[0], parameters[1], parameters[2:]
    spin = solve_ivp(
        lambda _, y: [y[1], -fall(y[1], coefficients, powers)], (time[0], time[-1]), [start, omega],
        method="DOP853", t_eval=time, rtol=1e-12, atol=1e-11)
    if spin.y.shape[1] != len(time):
        return np.full(len(time), 1e6)
    speed = spin.y[1]
    return (angle - spin.y[0]) / speed  # a mark's moment scatters, not its angle


def fit(powers, guess, bounds):
    found = least_squares(left, guess, jac="3-point", x_scale=np.maximum(np.abs(guess), 1e-3), bounds=bounds, args=(powers,),
                          xtol=1e-14, ftol=1e-14, gtol=1e-14)
    variance = 2 * found.cost / (len(time) - len(guess))
    return found.x, np.sqrt(np.diag(np.linalg.pinv(found.jac.T @ found.jac)) * variance)


speed = (angle[20] - angle[0]) / (time[20] - time[0])
slow = (speed - (angle[-1] - angle[-21]) / (time[-1] - time[-21])) / (time[-1] - time[0])
count = len(exponents)
best, u = fit(exponents, np.r_[0, speed, np.full(count, slow / count)], (-np.inf, np.inf))
print("free," + ",".join(f"{v:.12g}" for v in np.r_[best[2:], u[2:]]))

every = np.array([0, 1, 1.5, 1.8, 2.0])
low = np.r_[-np.inf, 0, np.zeros(5)]
bounded, _ = fit(every, np.r_[best[0], best[1], np.full(5, slow / 5)], (low, np.inf))
print("bounded," + ",".join(f"{fall(r * np.pi / 30, bounded[2:], every):.12g}" for r in (600, 1000, 1800)))
seconds, _ = quad(lambda w: 1 / fall(w, best[2:], exponents), 700 * np.pi / 30, 2000 * np.pi / 30, epsabs=1e-12, epsrel=1e-12)
print(f"time,{seconds:.12g}")
