#!/usr/bin/env python3
"""Records cases, edits them into others, and writes what is expected of them (see README.md)."""

import argparse
import csv
import json
import os
import pathlib
import random
import select
import termios
import time
import tty

from reading import Reading, parse

CASES = pathlib.Path(__file__).parent / "Cases"
START_NS = 1_000_000_000_000  # no moment is the clock's zero


def read(folder):
    """The reads of a case: (kind, host_ns, data), in order."""
    data, at = (folder / "board.bytes").read_bytes(), 0
    with open(folder / "reads.csv", newline="", encoding="ascii") as file:
        for row in csv.DictReader(file):
            if row["kind"] == "bytes":
                length = int(row["data"])
                yield "bytes", int(row["host_ns"]), data[at:at + length]
                at += length
            else:
                yield row["kind"], int(row["host_ns"]), row["data"].replace("\\n", "\n").encode()
    assert at == len(data), f"{folder}: reads.csv holds {at} bytes, board.bytes {len(data)}"


def write(name, about, reads):
    """Writes a case and what is expected of it."""
    folder = CASES / name
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "board.bytes").write_bytes(b"".join(data for kind, _, data in reads if kind == "bytes"))
    with open(folder / "reads.csv", "w", newline="", encoding="ascii") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["host_ns", "kind", "data"])
        for kind, host_ns, data in reads:
            rows.writerow([host_ns, kind, len(data) if kind == "bytes" else data.decode().replace("\n", "\\n")])
    (folder / "case.json").write_text(json.dumps(about, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    expect(folder)


def expect(folder):
    """Works out what is expected by the second reading; what a person put under fit and marks stays."""
    about = json.loads((folder / "case.json").read_text(encoding="utf-8"))
    reading = Reading(about["tickHz"])
    for kind, host_ns, data in read(folder):
        reading.take(kind, host_ns, data)
    with open(folder / "events.csv", "w", newline="", encoding="ascii") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["kind", "ticks", "width", "sequence", "host_ns", "asked_ns"])
        rows.writerows(reading.events)
    about.setdefault("expected", {}).update(board=reading.name, tickHz=reading.hz, counts=reading.counts)
    (folder / "case.json").write_text(json.dumps(about, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    size = sum(file.stat().st_size for file in folder.iterdir())
    assert size < 60_000, f"{folder.name} is {size} bytes: 60,000 at most"
    print(f"{folder.name}: {size} bytes, {len(reading.events)} events, {reading.counts}")


def open_port(path, baud):
    port = os.open(path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
    tty.setraw(port)
    settings = termios.tcgetattr(port)
    settings[4] = settings[5] = getattr(termios, f"B{baud}")
    termios.tcsetattr(port, termios.TCSANOW, settings)
    return port


def record(call):
    """Records from a port until the time is over."""
    begun, reads, asked, number = time.monotonic_ns(), [], 0, 0
    port = open_port(call.port, call.baud)

    def now():
        return START_NS + int((time.monotonic_ns() - begun) * call.time_scale)

    def note(kind, data, at=None):
        if now() >= START_NS + call.skip * 1e9:
            reads.append((kind, at or now(), data))

    unplug = [START_NS + int((call.skip + float(part)) * 1e9) for part in call.unplug.split(":")] if call.unplug else []
    note("back", b"port")
    while now() < START_NS + (call.skip + call.seconds) * 1e9:
        if unplug and now() >= unplug[0]:
            os.close(port)
            note("lost", b"unplugged")
            while now() < unplug[1]:
                time.sleep(0.001)
            unplug, port = [], open_port(call.port, call.baud)
            note("back", b"port")
            asked = 0
        if now() >= START_NS + call.skip * 1e9 and now() - asked >= 2e9:
            questions = [b"?\n"] if asked == 0 else []
            number = (number + 1) % 256
            for question in questions + [b"T%02X\n" % number]:
                note("asked", question)
                os.write(port, question)
            asked = now()
        if select.select([port], [], [], 0.02)[0]:
            data = os.read(port, 4096)
            if data:
                note("bytes", data)
    about = dict(what=call.what, origin="captured", board=call.board, firmware=call.firmware, adapter=call.adapter, baud=call.baud,
                 rotor=call.rotor, date=time.strftime("%Y-%m-%d", time.gmtime()), timeScale=call.time_scale, edited="no",
                 format="pulse-lines", tickHz=call.tick_hz)
    write(call.name, about, reads)


def edited(source, name, what, how, change):
    """Makes a case of another by changing its reads."""
    about = json.loads((CASES / source / "case.json").read_text(encoding="utf-8"))
    about.pop("expected", None)
    about.update(what=what, edited=f"yes, from {source}: {how}")
    write(name, about, change(list(read(CASES / source))))


def pulse_at(reads, nth):
    """Where the nth pulse line starts and ends, bytes from the start."""
    at = 0
    for line in b"".join(data for kind, _, data in reads if kind == "bytes").split(b"\n"):
        match = parse(line)
        if match and match["pt"]:
            nth -= 1
            if nth < 0:
                return at, at + len(line) + 1
        at += len(line) + 1
    raise LookupError("too few pulses")


def cut(reads, offset):
    """The reads before and after a byte; the read that holds it is divided."""
    for i, (kind, host_ns, data) in enumerate(reads):
        if kind == "bytes" and offset < len(data):
            return reads[:i] + [(kind, host_ns, data[:offset])], [(kind, host_ns, data[offset:])] + reads[i + 1:]
        offset -= len(data) if kind == "bytes" else 0
    raise LookupError("too few bytes")


def torn(reads):
    start, end = pulse_at(reads, 40)
    before, _ = cut(reads, (start + end) // 2)
    return before + [("lost", before[-1][1] + 400_000_000, b"unplugged")]


def spliced(reads):
    start, _ = pulse_at(reads, 40)
    start2, _ = pulse_at(reads, 43)
    before, _ = cut(reads, start + 11)
    _, after = cut(cut(reads, pulse_at(reads, 80)[0])[0], start2 + 9)
    return before + after


def garbage(reads):
    """Noise with good starts, and even whole good lines, inside it; the line end after it ends it."""
    noise = random.Random(20270314)
    start, end = pulse_at(reads, 30)
    line = b"".join(data for kind, _, data in reads if kind == "bytes")[start:end]
    before, after = cut(cut(reads, pulse_at(reads, 70)[0])[0], start)
    dirt = bytes(noise.randrange(256) for _ in range(300)).replace(b"\n", b"P") + line + b"H,1,2000000" + b"\x00" * 40 + b"\n"
    short = bytes(noise.randrange(128, 256) for _ in range(20)) + line
    return before + [("bytes", after[0][1], dirt + short)] + after


def restart(reads):
    """The first 5 s of one power-up and then, 1.2 s later, another with a boot number of its own, from the case beside it."""
    cut = [one for one in reads if one[1] < reads[0][1] + 5_000_000_000]
    later = list(read(CASES / "firmware-second-boot"))
    shift = cut[-1][1] + 1_200_000_000 - later[0][1]
    return cut + [(kind, host_ns + shift, data) for kind, host_ns, data in later if kind != "back"]


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    commands = parser.add_subparsers(dest="command", required=True)
    taken = commands.add_parser("record", help="record a new case from a port")
    taken.add_argument("name")
    taken.add_argument("--port", required=True)
    taken.add_argument("--baud", type=int, default=115200)
    taken.add_argument("--seconds", type=float, default=8)
    taken.add_argument("--skip", type=float, default=0, help="seconds that are read and thrown away first")
    taken.add_argument("--time-scale", type=float, default=1, help="how many times faster than real time the board runs")
    taken.add_argument("--unplug", help="AT:UNTIL, seconds: close the port meanwhile")
    taken.add_argument("--tick-hz", type=int, default=2_000_000)
    for name in ("what", "board", "firmware", "adapter", "rotor"):
        taken.add_argument("--" + name, required=True)
    commands.add_parser("expect", help="work out again what is expected of all cases")
    commands.add_parser("edit", help="make the edited cases again from the captured ones")
    call = parser.parse_args()
    if call.command == "record":
        record(call)
    elif call.command == "expect":
        for folder in sorted(CASES.iterdir()):
            expect(folder)
    else:
        edited("firmware-spin", "torn-tail", "The link goes in the middle of a line.", "cut in the 41st pulse line", torn)
        edited("firmware-spin", "spliced", "Two halves of lines in one, and two lines between lost.", "bytes from the middle of the 41st pulse line to that of the 44th taken out, and the end", spliced)
        edited("firmware-spin", "garbage", "Noise that holds starts of lines and whole lines.", "random bytes put in before the 31st pulse line, and the end taken off", garbage)
        edited("firmware-spin", "restart", "The board starts anew in mid-spin and its counter with it.", "its first 5 s, then the first 4 s of firmware-second-boot", restart)


if __name__ == "__main__":
    main()
