"""Speed of a free spin from its marks by another way: one least-squares spline over the whole run, with scipy.

Reads lines 'time_s,turns' from the file named first, and moments, one a line, from the file named second.
Prints 'time_s,rpm,u_rpm' for each moment. Nothing here shares a line or a method with the program's own local fit.
"""
import sys

import numpy as np
from scipy.interpolate import BSpline, make_lsq_spline

DEGREE = 5
PIECES = 14

marks = np.loadtxt(sys.argv[1], delimiter=",")
moments = np.loadtxt(sys.argv[2])
time, turns = marks[:, 0], marks[:, 1]

inner = np.linspace(time[0], time[-1], PIECES + 1)[1:-1]
knots = np.r_[[time[0]] * (DEGREE + 1), inner, [time[-1]] * (DEGREE + 1)]
spline = make_lsq_spline(time, turns, knots, DEGREE)
speed = spline.derivative()

residual = turns - spline(time)
variance = residual @ residual / (len(time) - len(spline.c))
design = BSpline.design_matrix(time, knots, DEGREE).toarray()
factor = np.linalg.qr(design, mode="r")
slopes = np.column_stack(
    [BSpline(knots, row, DEGREE).derivative()(moments) for row in np.eye(len(spline.c))]
)
u = np.sqrt(variance) * np.linalg.norm(np.linalg.solve(factor.T, slopes.T), axis=0)

for moment, rpm, uncertainty in zip(moments, 60 * speed(moments), 60 * u):
    print(f"{moment:.9f},{rpm:.12g},{uncertainty:.6g}")
