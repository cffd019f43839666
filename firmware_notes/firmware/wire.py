"""Sentences of the wire protocol, version 1 (see ../README.md)."""

QUERY = b"$PTRGQ,I*25"
FIRST_SEQ = 0
FIRST_MS = 0


def sentence(body):
    """Frame a body: $, body, *, XOR of its bytes as two upper-case hex digits, CR LF."""
    check = 0
    for byte in body.encode():
        check ^= byte
    return b"$%s*%02X\r\n" % (body.encode(), check)


def identity(board, firmware, sps, channels):
    """Who the board is."""
    return sentence(f"PTRGI,1,{board},{firmware},{sps},{';'.join(channels)}")


def fault(code, text):
    """Something the board noticed."""
    return sentence(f"PTRGF,{code},{text}")


class Rows:
    """Data rows with a counter of 16 bits and a clock of 32; a value of None stays empty."""

    def __init__(self, ticks_ms, ticks_diff):
        self._ticks_ms, self._ticks_diff = ticks_ms, ticks_diff
        self._seq = FIRST_SEQ
        self._ms = FIRST_MS
        self._last = ticks_ms()

    def row(self, load, surface, rim, water):
        self.tick()
        fields = ["" if value is None else str(value) for value in (load, surface, rim, water)]
        line = sentence(f"PTRGD,{self._seq},{self._ms},{','.join(fields)}")
        self._seq = (self._seq + 1) & 0xFFFF
        return line

    def tick(self):
        """MicroPython's own counter wraps after 12 days; this one after 49.7, as agreed."""
        now = self._ticks_ms()
        self._ms = (self._ms + self._ticks_diff(now, self._last)) & 0xFFFFFFFF
        self._last = now


class Ear:
    """Puts together what the host writes; tells when it has asked who we are."""

    def __init__(self):
        self._line = b""

    def asked(self, byte):
        if byte not in b"\r\n":
            self._line = (self._line + byte)[-82:]
            return False
        line, self._line = self._line, b""
        return line == QUERY
