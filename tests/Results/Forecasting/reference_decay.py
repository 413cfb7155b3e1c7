"""Time from one speed down to another by the equation of motion, for the tests of the forecast. Arguments: from, to (rad/s), reference (rad/s), then pairs exponent,coefficient."""
import sys

from scipy.integrate import solve_ivp

start, end, reference = (float(a) for a in sys.argv[1:4])
terms = [tuple(float(x) for x in pair.split(",")) for pair in sys.argv[4:]]


def fall(_, w):
    return [-sum(a * (max(w[0], 0.0) / reference) ** p for p, a in terms)]


def reached(_, w):
    return w[0] - end


reached.terminal = True
done = solve_ivp(fall, (0.0, 1e6), [start], method="DOP853", events=reached, rtol=1e-12, atol=1e-12)
print("%.12g" % done.t_events[0][0])
