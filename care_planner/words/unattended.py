"""That nobody is there to water, in English."""

from datetime import date

from care_planner.tasks.unattended import Absence
from care_planner.words.days import short_day


def absence_words(absence: Absence) -> str:
    """`From 8 May nobody is here for 14 days: who waters?`"""
    return f"From {short_day(absence.first)} nobody is here for {absence.days} days: who waters?"


def absence_title(absence: Absence) -> str:
    """The same, as short as a phone shows it."""
    return f"Who waters from {short_day(absence.first)}?"


def away_command(absence: Absence, folder: str = "FOLDER") -> str:
    """The command that prints the page for whoever does."""
    first, last = (date.fromordinal(day).isoformat() for day in (absence.first, absence.last))
    return f"care-planner sheets {folder} --away {first} {last}"
