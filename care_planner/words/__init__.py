"""Facts in English, as a person reads them: terminal, calendar, page and paper take them from here."""
