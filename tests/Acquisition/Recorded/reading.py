"""A second reading of recorded cases, written from hardware/protocol/pulse-lines.md and from how a decoder treats what no line says
(docstrings of PulseLineDecoder and JoinedCounter), sharing no code with them. Only the standard library."""

import binascii
import re

NAME_WAIT_NS = 3_000_000_000
LINE = re.compile(rb"^(?:P(?P<ss>[0-9A-F]{2}),(?P<pt>[0-9A-F]{8})(?:,(?P<pw>[0-9A-F]{1,8}))?"
                  rb"|S,(?P<st>[0-9A-F]{8}),(?P<sp>[0-9A-F]{8}),(?P<sd>[0-9A-F]{4})"
                  rb"|T(?P<tn>[0-9A-Fa-f]{2}),(?P<tt>[0-9A-F]{8})"
                  rb"|H,1,(?P<hz>[0-9]+),(?P<hb>[0-9]+),(?P<hboot>[0-9A-F]{4}),(?P<hn>[a-z0-9-]{1,16}))$")


def parse(line):
    """The match of a good line's body, or None for a bad line."""
    if line.endswith(b"\r"):
        line = line[:-1]
    if len(line) > 64 or len(line) < 6 or line[-5:-4] != b"*" or not re.fullmatch(rb"[0-9A-F]{4}", line[-4:]):
        return None
    body = line[:-5]
    return LINE.match(body) if binascii.crc_hqx(body, 0) == int(line[-4:], 16) else None


class Reading:
    """Events and counts of a case."""

    def __init__(self, tick_hz):
        self.hz, self.bits, self.boot, self.name = tick_hz, 32, None, ""
        self.events, self.held, self.settled = [], [], False
        self.part = b""
        self.counts = dict(received=0, badLines=0, lostOnLine=0, droppedByBoard=0, restarts=0)
        self.asked = {}
        self.value = self.offset = self.at = None
        self.joins = False
        self.next_number = self.status = None
        self.numbered, self.away = 0, False

    def take(self, kind, host_ns, data):
        if self.held and host_ns - self.held[0][1] >= NAME_WAIT_NS:
            self.next_number, self.away = None, False
            self.settle()
        if kind == "bytes":
            *lines, self.part = (self.part + data).split(b"\n")
            for line in lines:
                self.line(line, host_ns)
        elif kind == "asked":
            if re.fullmatch(rb"T[0-9A-Fa-f]{2}\n", data):
                self.asked[int(data[1:3], 16)] = host_ns
        else:
            self.counts["badLines"] += 1 if self.part else 0
            self.part = b""
            if self.boot is None:
                self.next_number = None
            else:
                self.away = True
                self.settled = self.settled and kind == "lost"
            self.tell("LinkLost" if kind == "lost" else "LinkBack", 0, 0, 0, host_ns, 0)

    def line(self, line, host_ns):
        match = parse(line)
        if match is None:
            self.counts["badLines"] += 1
        elif match["hz"]:
            self.greet(match, host_ns)
        else:
            asked = self.asked.pop(int(match["tn"], 16), 0) if match["tn"] else 0
            if self.settled:
                self.say(match, host_ns, asked)
            else:
                self.held.append((match, host_ns, asked))

    def settle(self):
        self.settled = True
        held, self.held = self.held, []
        for one in held:
            self.say(*one)

    def greet(self, match, host_ns):
        boot = (match["hz"], match["hb"], match["hboot"], match["hn"])
        first, known = self.boot is None, self.boot == boot
        self.boot, self.hz, self.bits, self.name = boot, int(match["hz"]), min(32, int(match["hb"])), match["hn"].decode()
        if not first and not known:
            if self.held and int(next(filter(None, self.held[0][0].group("pt", "st", "tt"))), 16) / self.hz > (self.held[0][1] - self.at) / 1e9 + 2:
                self.settle()
            self.restart(self.held[0][1] if self.held else host_ns)
        self.settle()
        if first:
            self.tell("BoardNamed", self.ticks(), 0, -1, host_ns, 0)

    def restart(self, host_ns):
        self.counts["restarts"] += 1
        self.next_number, self.status, self.numbered, self.away = None, (0, 0), 0, False
        self.tell("BoardRestarted", self.ticks() + self.passed(host_ns), 0, -1, host_ns, 0)
        self.joins = self.at is not None

    def ticks(self):
        return 0 if self.at is None else self.value + self.offset

    def passed(self, host_ns):
        return 0 if self.at is None else int(max(host_ns - self.at, 0) / 1e9 * self.hz)

    def widen(self, raw, host_ns):
        if self.at is None:
            self.value, self.offset = raw, 0
        elif self.joins:
            self.offset, self.value = self.ticks() + self.passed(host_ns) - raw, raw
        else:
            turn = 1 << self.bits
            expected = self.value + self.passed(host_ns)
            off = (raw - expected) % turn
            self.value = expected + (off if off < turn // 2 else off - turn)
        self.joins, self.at = False, host_ns
        return self.ticks()

    def say(self, match, host_ns, asked):
        ticks = self.widen(int(match["pt"] or match["st"] or match["tt"], 16), host_ns)
        if match["pt"]:
            number = int(match["ss"], 16)
            self.counts["received"] += 1
            lost = 0 if self.next_number is None else (number - self.next_number) % 256
            self.counts["lostOnLine"] += lost
            self.numbered += 1 + lost
            self.next_number = (number + 1) % 256
            self.tell("Pulse", ticks, int(match["pw"] or b"0", 16), number, host_ns, 0)
        elif match["st"]:
            dropped = int(match["sd"], 16)
            if self.status is not None:
                more = (dropped - self.status[1]) % 65536
                self.counts["droppedByBoard"] += more
                if self.away:
                    unseen = (int(match["sp"], 16) - self.status[0]) % 2**32 - more - self.numbered
                    self.counts["lostOnLine"] += max(0, 256 * round(unseen / 256))
            self.numbered, self.away = 0, False
            self.status = (int(match["sp"], 16), dropped)
            self.tell("Status", ticks, 0, -1, host_ns, 0)
        else:
            self.tell("TimeAnswer" if asked else "Status", ticks, 0, -1, host_ns, asked)

    def tell(self, kind, ticks, width, number, host_ns, asked):
        self.events.append((kind, ticks, width, number, host_ns, asked))
