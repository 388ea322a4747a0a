"""Text for a terminal or a log, without what would command it: a name may hold anything a file can hold."""

# C0 but tab and line break, DEL, C1 (escape sequences begin with these); then embeddings, overrides and
# isolates (Unicode annex 9), which make a line read differently from what it says, and line separators.
_SHOWN = {
    code: f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
    for code in (
        *(code for code in range(0x20) if chr(code) not in "\t\n"),
        *range(0x7F, 0xA0),
        *(0x200E, 0x200F, 0x2028, 0x2029, 0xFEFF),
        *range(0x202A, 0x202F),
        *range(0x2066, 0x206A),
    )
}


def harmless(text: str) -> str:
    """The text with every control character shown as an escape, such as `\\x1b`."""
    return text if text.isprintable() else text.translate(_SHOWN)
