"""Tasks as iCalendar: identity, revisions, bytes."""
