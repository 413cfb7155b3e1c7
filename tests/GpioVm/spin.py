"""Writes the schedule of an invented spin: at what ns after its beginning the line falls and rises, one mark of an eighth of a turn.

A hand speeds the body up evenly; then it slows by a constant and by a part that goes with its speed, whose closed form is used here and nowhere
in the program that is tested. Usage: spin.py PEAK_TURNS_PER_S TIME_CONSTANT_S END_TURNS_PER_S >SCHEDULE
"""

import math
import sys

LAUNCH_S, BEGIN, DRY, MARK = 1.5, 2.0, 0.3, 0.125  # s, turns/s, turns/s², turns


def main(peak, constant_s, end):
    launch_turns = (BEGIN + peak) / 2 * LAUNCH_S
    rest = DRY * constant_s
    last_s = constant_s * math.log((peak + rest) / (end + rest))

    def slowed(t):
        return launch_turns + (peak + rest) * constant_s * (1 - math.exp(-t / constant_s)) - rest * t

    def when(turns):
        if turns <= launch_turns:
            gain = (peak - BEGIN) / LAUNCH_S
            return (math.sqrt(BEGIN * BEGIN + 2 * gain * turns) - BEGIN) / gain
        low, high = 0.0, last_s
        for _ in range(100):
            middle = (low + high) / 2
            low, high = (middle, high) if slowed(middle) < turns else (low, middle)
        return LAUNCH_S + low

    for turn in range(1, int(slowed(last_s))):
        print(round(when(turn) * 1e9), 0)
        print(round(when(turn + MARK) * 1e9), 1)


main(*map(float, sys.argv[1:]))
