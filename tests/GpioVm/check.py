"""Holds what the virtual computer left against what was played in it. Usage: check.py OUT PROGRAM"""

import csv
import json
import pathlib
import subprocess
import sys

OUT, PROGRAM = pathlib.Path(sys.argv[1]), sys.argv[2]
counts = {True: 0, False: 0}


def check(name, good, found=""):
    counts[bool(good)] += 1
    print(f"{'pass' if good else 'FAIL'}: {name}" + ("" if good else f"; found {found}"))


def text(name):
    return (OUT / name).read_text(errors="replace") if (OUT / name).exists() else ""


def said(name, code, *words):
    answer = text(name + ".out") + text(name + ".err")
    check(f"{name}: exit {code}", text(name + ".code").strip() == str(code), text(name + ".code").strip() + " " + answer)
    for word in words:
        check(f"{name}: says {word!r}", word in answer, answer)


def played(*names):
    return [tuple(map(int, line.split())) for name in names for line in text(name).splitlines()]


def run_of(name):
    """Descriptor, pulses and events of the only run in a library."""
    runs = [d for d in sorted((OUT / name).glob("*/")) if not d.name.startswith(".")]
    check(f"{name}: one run", len(runs) == 1, [r.name for r in runs])
    if not runs:
        return None
    checked = subprocess.run([PROGRAM, "verify", OUT / name], capture_output=True, text=True)
    check(f"{name}: whole by the program's own check", checked.returncode == 0, checked.stdout + checked.stderr)
    table = lambda file: list(csv.DictReader((runs[0] / file).open()))
    return json.loads((runs[0] / "datapackage.json").read_text())["acquire"], table("pulses.csv"), table("events.csv")


def quantiles(values):
    ordered = sorted(values)
    at = lambda share: ordered[min(len(ordered) - 1, int(share * len(ordered)))] / 1000
    return f"least {at(0):.1f}, median {at(0.5):.1f}, 95 % below {at(0.95):.1f}, 99 % below {at(0.99):.1f}, most {at(1):.1f} µs"


def same_edges(name, pulses, falls):
    """Every edge that was played is there, and its stamp lies where the player was writing the level."""
    check(f"{name}: {len(falls)} marks played, as many pulses", len(pulses) == len(falls), len(pulses))
    stamps = [int(p["ticks"]) for p in pulses]
    outside = [s for s, (_, before, after, _) in zip(stamps, falls) if not before <= s <= after + 2_000_000]
    check(f"{name}: each stamp lies between the clock before the edge and after", not outside, f"{len(outside)} do not")
    wrong = [p for p, s in zip(pulses, stamps) if abs(float(p["time_s"]) - (s - stamps[0]) * 1e-9) > 1e-9]
    check(f"{name}: times are the stamps'", not wrong, wrong[:3])
    return stamps


def bench():
    found = run_of("library-bench")
    if found is None:
        return
    run, pulses, _ = found
    falls = [edge for edge in played("truth-bench") if edge[3] == 0]
    stamps = same_edges("bench", pulses, falls)
    marks = sum(p["kind"] == "mark" for p in pulses)
    check("bench: every pulse is a mark, none missed", (marks, run["counts"]["missed"]) == (len(falls), 0), run["counts"])
    check("bench: the turn count is exact", float(pulses[-1]["turns"]) == len(falls) - 1, pulses[-1]["turns"])
    check("bench: nothing lost", (run["counts"]["lostOnLine"], run["counts"]["badLines"]) == (0, 0), run["counts"])
    check("bench: ended as stopped", run["endReason"] == "stopped", run["endReason"])
    source = run["source"]
    check("bench: the source is told", (source["kind"], source["tickHz"]) == ("gpio", 1e9) and "bench:mark" in source["detail"], source)
    check("bench: the host's clock needs no rate", (run["clock"]["ratePpm"], run["clock"]["uRatePpm"]) == (0, 0), run["clock"])
    late = [s - before for s, (_, before, _, _) in zip(stamps, falls)]
    steps = [(b - a) - (falls[i + 1][1] - falls[i][1]) for i, (a, b) in enumerate(zip(stamps, stamps[1:]))]
    print(f"stamps after the clock that was read before the edge was made: {quantiles(late)}")
    print(f"from that clock to the one after: {quantiles([after - before for _, before, after, _ in falls])}")
    if steps:
        print(f"a turn's time by stamps less by the player's clock: root mean square {(sum(s * s for s in steps) / len(steps)) ** 0.5 / 1000:.1f} µs of {len(steps)} turns")


def roving():
    found = run_of("library-roving")
    if found is None:
        return
    run, pulses, events = found
    falls = [edge for edge in played("truth-roving-1", "truth-roving-2") if edge[3] == 0]
    same_edges("roving", pulses, falls)
    before, after = text("roving-before").strip(), text("roving-after").strip()
    check("roving: the chip came back under another number", before and after and before != after, f"{before}, {after}")
    details = {e["event"]: e["detail"] for e in events}
    check("roving: the loss is an event that names the line", "line 3 (mark) of gpio chip" in details.get("port lost", "").lower(), details)
    check("roving: so is the return, under the new number", after in details.get("port back", ""), details)
    schedule = [at for at, level in (line.split() for line in text("spin-roving").splitlines()) if level == "0"]
    turns = schedule.index(str(falls[-1][0])) - schedule.index(str(falls[0][0])) if falls else -1
    check("roving: the turns are those of the whole spin, the gap's among them", float(pulses[-1]["turns"]) == turns, f"{pulses[-1]['turns']}, truth {turns}")
    check("roving: ended as stopped", run["endReason"] == "stopped", run["endReason"])


said("list", 0, "bench", "other", "roving", "mark", "somebody-else", "acquire")
said("held", 3, "'somebody-else'", "Line 5 of GPIO chip")
said("no-chip", 2, "GPIO chip nowhere is not there", "bench", "other")
said("no-line", 2, "has no line nothing", "named mark")
said("capture-bench", 0)
said("capture-roving", 0, "went away")
bench()
roving()
for line in text("kernel-complaints").splitlines()[:10]:
    print("the kernel's log:", line)
print(f"{counts[True]} passed, {counts[False]} failed")
sys.exit(counts[False] > 0)
