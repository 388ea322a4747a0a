"""Facts as English: what terminal, calendar, pages and paper say."""
