"""What people are told when there is no page to show, by HTTP status."""

FAULTS = {
    400: {"title": "That was not understood", "words": "Go back, load the page again and try once more."},
    403: {
        "title": "This page was too old",
        "words": "Nothing was noted. Go back, load the page again, and note it once more.",
    },
    404: {
        "title": "There is nothing here",
        "words": "Links are secret and can be renewed. If yours worked before, ask whoever gave it to you.",
    },
    405: {"title": "That cannot be done here", "words": "Go back and use the buttons of the page."},
    413: {"title": "That was too much at once", "words": "Nothing was noted. Send fewer words."},
    429: {"title": "Too much at once", "words": "What was sent was not noted. Wait a minute and try again."},
    500: {
        "title": "Something broke here",
        "words": "It is a fault of the program, not yours. What was noted before is safe. Try again.",
    },
}
