r"""RFC 5545 content lines: escaping, folding, durations.

A writer of our own because the icalendar library, which the tests hold it against byte for byte, would
take a third of the time a whole plan may take. It departs from icalendar 7.3 in two places, both in text
with backslashes: `\N` in a name stays two characters (icalendar makes it a line break), and no fold ever
stands inside an escape (icalendar cuts between the two halves of an escaped backslash).
"""

from datetime import date, timedelta

# icalendar and this writer fold one octet earlier than the 75 that RFC 5545, 3.1, allows.
OCTETS_A_LINE = 74
_BACKSLASH = ord("\\")
_CARET = ord("^")


def escape(text: str) -> str:
    """TEXT as RFC 5545, 3.3.11, writes it. The text must hold no control character but a line feed."""
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def fold(line: str) -> bytes:
    """One content line as bytes, folded, without its ending CRLF.

    No fold stands inside a UTF-8 sequence, since readers that unfold late would see a broken character,
    nor inside an escape, since a big importer hides events whose backslash ends a line.
    """
    raw = line.encode("utf-8")
    if len(raw) <= OCTETS_A_LINE:
        return raw
    pieces = []
    start = 0
    while len(raw) - start > OCTETS_A_LINE:
        end = _end_of_piece(raw, start)
        pieces.append(raw[start:end])
        start = end
    pieces.append(raw[start:])
    return b"\r\n ".join(pieces)


def _end_of_piece(raw: bytes, start: int) -> int:
    end = start + OCTETS_A_LINE
    while raw[end] & 0xC0 == 0x80:
        end -= 1
    last = raw[end - 1]
    if last == _CARET:  # the escape sign of parameters, RFC 6868
        return end - 1
    if last == _BACKSLASH:
        run = end - start - len(raw[start:end].rstrip(b"\\"))
        return end - run % 2
    return end


def date_value(day: int) -> str:
    """A proleptic ordinal as an RFC 5545 DATE."""
    return date.fromordinal(day).isoformat().replace("-", "")


def duration_value(span: timedelta) -> str:
    """A span of whole minutes as an RFC 5545 DURATION; ValueError for zero."""
    total = round(abs(span).total_seconds())
    if not total:
        raise ValueError("a duration of nothing")
    days, rest = divmod(total, 86400)
    hours, minutes = rest // 3600, rest % 3600 // 60
    time = (f"{hours}H" if hours else "") + (f"{minutes}M" if minutes else "")
    sign = "-" if span < timedelta(0) else ""
    return f"{sign}P{f'{days}D' if days else ''}{f'T{time}' if time else ''}"
