"""The relay unit's core: what to do with lines of text and time. Sans-I/O.

Runs unchanged under MicroPython and CPython, so it imports nothing and uses little of the
language. The words that it speaks are in PROTOCOL.md, and so are the promises:

* an output is never away from its safe level longer than the bound that came with it;
* no output is away from its safe level once nothing was heard for the dead-man time;
* at a start, and until it was spoken to and set up, every output is at its safe level.

``Unit.step`` takes the time and what was received; it gives the pins to write, the lines to
send, and when it must be stepped again at the latest. Whoever drives it writes the pins first.
"""

VERSION = 1
MOST_BYTES = 120  # of one line; a longer one is thrown away
MOST_SEQ = 0x7FFFFFFF
DEAD_MS = (100, 10_000)  # the dead-man times that make sense
MOST_LONGEST_MS = 7_200_000
MOST_NUMBER = 10**15

NEW = "new"  # nobody has introduced himself since the start
MET = "met"  # introduced, not yet set up
ARMED = "armed"
LATCHED = "latched"  # everything is safe, and stays so until told otherwise

# Number of words behind each verb: as it is fixed, no line that was cut or joined can pass.
_WORDS = {"hello": 2, "setup": 3, "put": 3, "cut": 0, "alive": 0, "arm": 0, "state": 0, "last": 1}

# CRC-16/IBM-3740 by half bytes: polynomial 0x1021, start 0xFFFF, nothing reflected.
_CRC = (
    0x0000, 0x1021, 0x2042, 0x3063, 0x4084, 0x50A5, 0x60C6, 0x70E7,
    0x8108, 0x9129, 0xA14A, 0xB16B, 0xC18C, 0xD1AD, 0xE1CE, 0xF1EF,
)  # fmt: skip


def crc16(data: bytes) -> int:
    """Give the CRC-16/IBM-3740 of some bytes."""
    crc = 0xFFFF
    for byte in data:
        crc = (crc << 4 & 0xFFFF) ^ _CRC[crc >> 12 ^ byte >> 4]
        crc = (crc << 4 & 0xFFFF) ^ _CRC[crc >> 12 ^ byte & 15]
    return crc


def seal(body: str) -> bytes:
    """Make a line of some words: their checksum behind them, and the end of the line."""
    data = body.encode()
    return data + b" %04x\n" % crc16(data)


def unseal(line: bytes) -> "list[str] | None":
    """Give the words of a line (without its end) whose checksum is right, or None."""
    if len(line) < 6 or line[-5] != 32:
        return None
    for byte in line:
        if byte < 32 or byte > 126:
            return None
    body = bytes(line[:-5])
    if bytes(line[-4:]) != b"%04x" % crc16(body):
        return None
    return body.decode().split(" ")


def number(word: str, most: int = MOST_NUMBER) -> int:
    """Give a whole number that is written in the one way it can be, or -1."""
    if not word or len(word) > 16 or not word.isdigit():
        return -1
    value = int(word)
    return value if str(value) == word and value <= most else -1


class _Output:
    # one pin: its safe level, the builder's own limit, and how it stands

    def __init__(self, safe: int, longest_s: "int | None") -> None:
        self.safe = safe
        self.longest_us = None if longest_s is None else longest_s * 1_000_000
        self.level = safe
        self.used = False
        self.faulty = False  # its pin was told not to be as written
        self.since_us = 0  # when it went away from its safe level
        self.due_us: int | None = None  # when it must be back
        self.last = ("-", "-", "-")  # of the last time away: from, to, why it came back


class Unit:
    """The state machine of one relay unit.

    ``board_id`` is one word without spaces; ``outputs`` has a pair for each output: its safe
    level, and the longest time in seconds that the builder allows away from it (None: no limit
    of the builder's). ``now_us`` never runs backwards and never wraps.
    """

    def __init__(self, board_id: str, outputs: "list[tuple[int, int | None]]", now_us: int) -> None:
        self.board_id = board_id
        self.mode = NEW
        self.garbled = 0  # lines that were thrown away
        self._outputs = [_Output(safe, longest_s) for safe, longest_s in outputs]
        self._now_us = now_us
        self._fed_us = now_us
        self._dead_us = 0
        self._longest_us = 0
        self._buffer = b""
        self._skipping = False
        self._asked: list[str] = []  # the last command, to know a repetition by
        self._answer = b""
        self._seq = -1
        self._told = 0
        self._writes: list[tuple[int, int]] = []
        self._sent: list[bytes] = []
        self._tell("start", board_id, now_us)

    @property
    def levels(self) -> "list[int]":
        """The level of each output."""
        return [output.level for output in self._outputs]

    def step(
        self, now_us: int, received: bytes = b"", seen: "list[int] | None" = None
    ) -> "tuple[list[tuple[int, int]], list[bytes], int | None]":
        """Take the time, bytes that came in, and the pins' levels as they read back.

        Gives the writes (output, level), the lines to send, and when to step again at the
        latest (None: not before something is received).
        """
        self._now_us = now_us = max(now_us, self._now_us)
        if seen is not None:
            self._compare(seen)
        for index, output in enumerate(self._outputs):
            if output.due_us is not None and now_us >= output.due_us:
                self._back(index, "bound")
        # time is judged first: bytes do not say when they were sent
        if self.mode == ARMED and now_us - self._fed_us >= self._dead_us:
            self._latch("silence")
        self._receive(received)
        writes, self._writes = self._writes, []
        sent, self._sent = self._sent, []
        return writes, sent, self._next_us()

    # -- lines -------------------------------------------------------------------------------

    def _receive(self, received: bytes) -> None:
        data = self._buffer + received
        while True:
            end = data.find(b"\n")
            if end < 0:
                break
            line, data = data[:end], data[end + 1 :]
            if line.endswith(b"\r"):
                line = line[:-1]
            if self._skipping or len(line) > MOST_BYTES:
                self._skipping = False
                self.garbled += 1
            elif line:
                self._line(line)
        if len(data) > MOST_BYTES:
            self._skipping = True
            data = b""
        self._buffer = data

    def _line(self, line: bytes) -> None:
        words = unseal(line)
        seq = -1
        if words is not None and len(words) >= 3 and words[0] == "ask":
            seq = number(words[1], MOST_SEQ)
        if words is None or seq < 0:
            # not answered: with an echo on the line an answer would be answered for ever
            self.garbled += 1
            return
        if words == self._asked:
            self._sent.append(self._answer)  # a repetition changes nothing and feeds nothing
            return
        verb, args = words[2], words[3:]
        if _WORDS.get(verb, -1) != len(args):
            self._sent.append(seal(f"no {seq} words -"))
            return
        if verb != "hello" and seq <= self._seq:
            self._sent.append(seal(f"no {seq} old {self._seq}"))
            return
        answer = self._carry_out(verb, args)
        self._seq = seq
        self._asked = words
        if answer[0] == "no":
            self._answer = seal(" ".join(["no", str(seq)] + answer[1:]))
        else:
            self._fed_us = self._now_us
            self._answer = seal(" ".join(["yes", str(seq), verb] + answer))
        self._sent.append(self._answer)

    def _carry_out(self, verb: str, args: "list[str]") -> "list[str]":
        if verb == "hello":
            return self._hello(args[0], args[1])
        if verb == "cut":
            self._all_back("asked")
            return [str(self._now_us)]
        if verb == "alive":
            return [self.mode, self._levels(), str(self._now_us)]
        if verb == "state":
            return [self.mode, self._levels(), str(self._now_us), str(self.garbled)]
        if verb == "last":
            index = self._index(args[0])
            return (
                ["no", "words", "-"] if index < 0 else [args[0]] + list(self._outputs[index].last)
            )
        if verb == "put":
            return self._put(args[0], args[1], args[2])
        if self.mode == NEW:
            return ["no", "order", self.mode]
        if verb == "setup":
            return self._setup(args[0], args[1], args[2])
        # arm
        if self.mode == MET:
            return ["no", "order", self.mode]
        self.mode = ARMED
        return [str(self._now_us)]

    def _hello(self, version: str, nonce: str) -> "list[str]":
        self._all_back("hello")
        if number(version) != VERSION:
            self.mode = NEW
            return ["no", "version", str(VERSION)]
        self.mode = MET
        limits = [
            "-" if output.longest_us is None else str(output.longest_us // 1_000_000)
            for output in self._outputs
        ]
        safe = "".join([str(output.safe) for output in self._outputs])
        return [version, nonce, self.board_id, safe, ",".join(limits), str(self._now_us)]

    def _setup(self, used: str, dead: str, longest: str) -> "list[str]":
        dead_ms = number(dead)
        longest_ms = number(longest)
        safe = "".join([str(output.safe) for output in self._outputs])
        fits = len(used) == len(safe)
        for mine, wanted in zip(safe, used):
            fits = fits and wanted in (mine, "-")
        self._all_back("setup")
        self.mode = MET
        if not fits:
            return ["no", "safe", safe]
        if not DEAD_MS[0] <= dead_ms <= DEAD_MS[1]:
            return ["no", "dead", f"{DEAD_MS[0]}-{DEAD_MS[1]}"]
        if not 0 < longest_ms <= MOST_LONGEST_MS:
            return ["no", "longest", str(MOST_LONGEST_MS)]
        for output, wanted in zip(self._outputs, used):
            output.used = wanted != "-"
        self._dead_us = dead_ms * 1000
        self._longest_us = longest_ms * 1000
        self.mode = ARMED
        return [str(self._now_us)]

    def _put(self, which: str, level_word: str, bound: str) -> "list[str]":
        index = self._index(which)
        if index < 0 or level_word not in ("0", "1"):
            return ["no", "words", "-"]
        output = self._outputs[index]
        level = int(level_word)
        if level == output.safe:  # always allowed, whatever the mode
            lasted_us = 0 if output.level == level else self._now_us - output.since_us
            self._back(index, "asked")
            return [which, level_word, str(self._now_us), str(lasted_us)]
        if self.mode != ARMED:
            return ["no", "order", self.mode]
        if not output.used:
            return ["no", "unused", which]
        due_us = None
        if bound != "-":
            bound_us = number(bound)
            most_us = self._longest_us
            if output.longest_us is not None:
                most_us = min(most_us, output.longest_us)
            if not 0 < bound_us <= most_us:
                return ["no", "bound", str(most_us)]
            due_us = self._now_us + bound_us
        elif output.longest_us is not None:
            return ["no", "bound", str(output.longest_us)]
        if output.level == level:  # it is away already: its time may be made shorter, never longer
            if due_us is not None and (output.due_us is None or due_us < output.due_us):
                output.due_us = due_us
        else:
            output.level = level
            output.since_us = self._now_us
            output.due_us = due_us
            self._writes.append((index, level))
        return [which, level_word, str(self._now_us), str(self._now_us - output.since_us)]

    # -- outputs -----------------------------------------------------------------------------

    def _index(self, word: str) -> int:
        return number(word, len(self._outputs) - 1)

    def _levels(self) -> str:
        return "".join([str(output.level) for output in self._outputs])

    def _back(self, index: int, why: str) -> None:
        output = self._outputs[index]
        output.due_us = None
        if output.level == output.safe:
            return
        output.level = output.safe
        output.last = (str(output.since_us), str(self._now_us), why)
        self._writes.append((index, output.safe))
        if why in ("bound", "silence", "fault"):  # nobody asked for it, so it is told
            self._tell("back", index, output.last[0], self._now_us, why)

    def _all_back(self, why: str) -> None:
        for index in range(len(self._outputs)):
            self._back(index, why)

    def _compare(self, seen: "list[int]") -> None:
        # a pin that is not as it was written: a short, or a driver that has failed
        for index, output in enumerate(self._outputs):
            bad = seen[index] != output.level
            if bad and not output.faulty:
                self._tell("fault", index, seen[index], self._now_us)
            output.faulty = bad
        if self.mode == ARMED and any(output.faulty for output in self._outputs):
            self._latch("fault")
        for index, output in enumerate(self._outputs):
            if output.faulty:
                self._writes.append((index, output.level))

    def _latch(self, why: str) -> None:
        self.mode = LATCHED
        self._all_back(why)
        self._tell("latched", why, self._now_us)

    def _tell(self, *words: "str | int") -> None:
        self._told = self._told % MOST_SEQ + 1
        self._sent.append(seal(" ".join(["tell", str(self._told)] + [str(w) for w in words])))

    def _next_us(self) -> "int | None":
        times = [output.due_us for output in self._outputs if output.due_us is not None]
        if self.mode == ARMED:
            times.append(self._fed_us + self._dead_us)
        return min(times) if times else None
