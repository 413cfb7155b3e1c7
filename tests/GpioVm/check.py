"""Holds what the virtual computer left against what was played in it. Usage: check.py OUT PROGRAM"""

import csv
import json
import pathlib
import subprocess
import sys

OUT, PROGRAM = pathlib.Path(sys.argv[1]), sys.argv[2]
ROOM_NS = 2_000_000  # an interrupt that is served after the writing call has returned
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


def run(at):
    """Descriptor, pulses and events of one of the runs in the library."""
    folder = RUNS[at]
    table = lambda file: list(csv.DictReader((folder / file).open()))
    return json.loads((folder / "datapackage.json").read_text())["acquire"], table("pulses.csv"), table("events.csv")


def quantiles(values):
    ordered = sorted(values)
    at = lambda share: ordered[min(len(ordered) - 1, int(share * len(ordered)))] / 1000
    return f"least {at(0):.1f}, median {at(0.5):.1f}, 95 % below {at(0.95):.1f}, 99 % below {at(0.99):.1f}, most {at(1):.1f} µs"


def same_edges(name, pulses, falls):
    """Every edge that was played is there, and its stamp lies where the player was writing the level."""
    check(f"{name}: {len(falls)} marks played, as many pulses", len(pulses) == len(falls), len(pulses))
    stamps = [int(p["ticks"]) for p in pulses]
    outside = [s for s, (_, before, after, _) in zip(stamps, falls) if not before <= s <= after + ROOM_NS]
    check(f"{name}: each stamp lies between the clock before the edge and after", not outside, f"{len(outside)} do not")
    wrong = [p for p, s in zip(pulses, stamps) if abs(float(p["time_s"]) - (s - stamps[0]) * 1e-9) > 1e-9]
    check(f"{name}: times are the stamps'", not wrong, wrong[:3])
    return stamps


def whole():
    described, pulses, _ = run(0)
    falls = [edge for edge in played("truth-whole") if edge[3] == 0]
    rises = [edge for edge in played("truth-whole") if edge[3] == 1]
    stamps = same_edges("whole spin", pulses, falls)
    counts_of = described["counts"]
    marks = sum(p["kind"] == "mark" for p in pulses)
    check("whole spin: every pulse is a mark, none missed", (marks, counts_of["missed"]) == (len(falls), 0), counts_of)
    check("whole spin: the turn count is exact", float(pulses[-1]["turns"]) == len(falls) - 1, pulses[-1]["turns"])
    check("whole spin: nothing lost", (counts_of["lostOnLine"], counts_of["badLines"]) == (0, 0), counts_of)
    check("whole spin: ended as stopped", described["endReason"] == "stopped", described["endReason"])
    source, clock = described["source"], described["clock"]
    check("whole spin: the source is told", (source["kind"], source["tickHz"]) == ("gpio", 1e9) and "bench:mark" in source["detail"], source)
    check("whole spin: the host's clock needs no rate", (clock["ratePpm"], clock["uRatePpm"]) == (0, 0), clock)
    ends = [s + round(float(p["width_s"] or "nan") * 1e9) for s, p in zip(stamps, pulses)]
    wrong = [e for e, (_, before, after, _) in zip(ends, rises) if not before <= e <= after + ROOM_NS]
    check("whole spin: each width ends where the line rose", not wrong, f"{len(wrong)} do not")
    late = [s - before for s, (_, before, _, _) in zip(stamps, falls)]
    steps = [(b - a) - (falls[i + 1][1] - falls[i][1]) for i, (a, b) in enumerate(zip(stamps, stamps[1:]))]
    print(f"stamps after the clock that was read before the edge was made: {quantiles(late)}")
    print(f"from that clock to the one after: {quantiles([after - before for _, before, after, _ in falls])}")
    print(f"a turn's time by stamps less by the player's clock: root mean square {(sum(s * s for s in steps) / len(steps)) ** 0.5 / 1000:.2f} µs of {len(steps)} turns")


def cut():
    described, pulses, events = run(1)
    falls = [edge for edge in played("truth-cut-1", "truth-cut-2") if edge[3] == 0]
    same_edges("cut spin", pulses, falls)
    before, after = text("before").strip(), text("after").strip()
    check("cut spin: the chip came back under another number", before and after and before != after, f"{before}, {after}")
    details = {e["event"]: e["detail"] for e in events}
    check("cut spin: the loss is an event that names the line", f"Line 3 (mark) of GPIO chip {before} (bench) went away" in details.get("port lost", ""), details)
    check("cut spin: so is the return, under the new number", f"{after} (bench)" in details.get("port back", ""), details)
    schedule = [line.split()[0] for line in text("spin-cut").splitlines() if line.endswith(" 0")]
    turns = schedule.index(str(falls[-1][0])) - schedule.index(str(falls[0][0]))
    check("cut spin: the turns are those of the whole spin, the gap's among them", float(pulses[-1]["turns"]) == turns, f"{pulses[-1]['turns']}, truth {turns}")
    check("cut spin: ended as stopped", described["endReason"] == "stopped", described["endReason"])


said("list", 0, "bench", "other", "mark", "somebody-else", "acquire")
said("held", 3, "Line 5 of GPIO chip", "is held by 'somebody-else'")
said("capture", 130, "GPIO chip bench is not there. There are: ", "(taker)")
RUNS = [d for d in sorted((OUT / "library").glob("2*/"))]
check("the library holds both runs", len(RUNS) == 2, [r.name for r in RUNS])
if len(RUNS) == 2:
    verified = subprocess.run([PROGRAM, "verify", OUT / "library"], capture_output=True, text=True)
    check("the library is whole by the program's own check", verified.returncode == 0, verified.stdout + verified.stderr)
    whole()
    cut()
falls = sum(edge[3] == 0 for edge in played("truth-full"))
full = json.loads(text("full.out") or "{}")
seen, lost = full.get("pulses", 0), full.get("lostOnLine", 0)
check("full queue: 1500 edges played", falls == 1500, falls)
check("full queue: what the kernel dropped is counted to the edge", lost > 0 and seen + lost == falls, f"{seen} seen, {lost} lost")
for line in text("kernel-complaints").splitlines()[:10]:
    print("the kernel's log:", line)
print(f"{counts[True]} passed, {counts[False]} failed")
sys.exit(counts[False] > 0)
