"""The machine's faults, as one exception with a message a person can act on."""


class CannotWrite(Exception):
    """The calendar could not be read or written; what was published before is still there."""
