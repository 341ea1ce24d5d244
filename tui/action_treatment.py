"""Actions of the conservator's screens: the treatment, its condition map, and care that is due."""

from __future__ import annotations

from tui.action import Action
from tui.action import row as _a

ROWS: tuple[Action, ...] = (
    _a(
        "casts",
        "treatment",
        "w",
        "Treatment",
        "The conservator's treatment of the cast: open its record, or begin it.",
        4,
    ),
    _a("casts", "care_due", "k", "Care", "All care that is due or soon due, by owner.", 5),
    # the treatment
    _a("treatment", "write", "n", "Write", "Write another part: a statement, zone, patch, action and so on.", 2),
    _a("treatment", "correct", "e", "Correct", "Correct a part of this section; what it was stays on record.", 3),
    _a("treatment", "take_back", "d delete", "Take back", "Take a part back; it stays on record as taken back.", 5),
    _a("treatment", "reading", "r", "In full", "Read a part of this section in full, with every field.", 3),
    _a("treatment", "open_sheet", "enter", "In full", "To the words; there, read a part in full.", 9),
    _a("treatment", "draw", "m", "Map", "Draw zones on a photograph: the condition map.", 3),
    _a("treatment", "missing", "c", "Missing", "What is missing, by purpose, and which code or standard asks.", 3),
    _a("treatment", "images", "f", "Images", "Hold images before and after against each other.", 5),
    _a("treatment", "past", "H", "Past", "Who changed what of this treatment, when and why.", 7),
    _a("treatment", "sign_off", "S", "Sign off", "Sign the treatment record off; it is never edited again.", 7),
    _a("treatment", "amend", "A", "Amend", "Add to the record that was signed off.", 8),
    _a("treatment", "archive", "B", "Archive", "The treatment as a file that needs no program.", 8),
    _a("treatment", "history", "l", "History", "Parts that were corrected or taken back.", 6),
    _a(
        "treatment",
        "lay_over",
        "o",
        "Lay over",
        "Lay the photographs of the maps over each other; then what changed.",
        6,
    ),
    _a("treatment", "plot", "y", "Plot", "What salts are out against the root of time, with the curve that fits.", 6),
    _a("treatment", "print_sheet", "p f7", "Print", "Write the treatment report, on paper or as a page.", 4),
    _a("treatment", "read_again", "f5", "Read again", "Read the treatment again from the studio.", 9),
    _a("treatment", "back", "escape", "Back", "Back to the list.", 2),
    # the condition map
    _a("treatment-map", "move('left')", "left", "Move", "Move the cursor over the photograph.", 2, shown="Arrows"),
    _a("treatment-map", "move('right')", "right", "Right", "Move the cursor right.", 9),
    _a("treatment-map", "move('up')", "up", "Up", "Move the cursor up.", 9),
    _a("treatment-map", "move('down')", "down", "Down", "Move the cursor down.", 9),
    _a(
        "treatment-map", "nudge('left')", "shift+left less_than_sign", "Finely", "Move finely.", 4, shown="Shift+Arrows"
    ),
    _a("treatment-map", "nudge('right')", "shift+right greater_than_sign", "Right", "Move finely to the right.", 9),
    _a("treatment-map", "nudge('up')", "shift+up minus", "Up", "Move finely up.", 9),
    _a("treatment-map", "nudge('down')", "shift+down plus", "Down", "Move finely down.", 9),
    *(
        _a("treatment-map", f"leap('{way}')", f"ctrl+{way}", "Far", "Move the cursor by six cells.", 9)
        for way in ("left", "right", "up", "down")
    ),
    _a("treatment-map", "words('down')", "pagedown", "Words", "Scroll what is said of the zones down.", 9),
    _a("treatment-map", "words('up')", "pageup", "Words", "Scroll what is said of the zones up.", 9),
    _a("treatment-map", "enlarge", "z", "Zoom", "Show the picture twice or four times as large around the cursor.", 3),
    _a("treatment-map", "put", "space", "Point", "Put a corner of the zone here.", 2),
    _a("treatment-map", "unput", "backspace", "Undo point", "Take the newest corner away.", 4),
    _a("treatment-map", "zone", "enter", "Zone", "Close the corners to a zone and say what it is.", 2),
    _a("treatment-map", "another", "a", "Another", "Close this polygon; the next one belongs to the same zone.", 4),
    _a("treatment-map", "outline", "o", "Outline", "Close the corners to the outline of the object.", 3),
    _a("treatment-map", "type_figures", "t", "Type", "Type the corners as fractions of the picture.", 5),
    _a("treatment-map", "next_thing", "tab", "Next zone", "Choose the next zone that was drawn.", 3),
    _a("treatment-map", "change", "e", "Correct", "Correct what is said of the chosen zone.", 4),
    _a("treatment-map", "redraw_zone", "R", "Redraw", "Give the chosen zone the corners just drawn.", 5),
    _a("treatment-map", "take_back", "d delete", "Take back", "Take the chosen zone back.", 6),
    _a("treatment-map", "patch", "n", "Patch", "Write down a test patch at the cursor.", 5),
    _a(
        "treatment-map",
        "save_picture",
        "s ctrl+s",
        "Overlay",
        "Write the overlay picture, apart from the photograph.",
        4,
    ),
    _a("treatment-map", "look", "l", "Look", "See the photograph alone, as large as it goes.", 7),
    _a("treatment-map", "back", "escape", "Back", "Back to the treatment.", 2),
)
