"""Actions that work everywhere, and those of the five places."""

from __future__ import annotations

from tui.action import EVERYWHERE, PLACES, Action
from tui.action import row as _a

_FIVE = " ".join(PLACES)

ROWS: tuple[Action, ...] = (
    # everywhere
    _a(EVERYWHERE, "go('finishes')", "1", "Finishes", "Go to Finishes: recipes and what they look like.", 9),
    _a(EVERYWHERE, "go('bench')", "2", "Bench", "Go to Bench: what to weigh, and the pots that stand open.", 9),
    _a(EVERYWHERE, "go('tiles')", "3", "Tiles", "Go to Tiles: the rack, photographs, readings.", 9),
    _a(EVERYWHERE, "go('casts')", "4", "Casts", "Go to Casts: casts, pieces, agreed finishes.", 9),
    _a(EVERYWHERE, "go('shelf')", "5", "Shelf", "Go to Shelf: chemicals and lots.", 9),
    _a(EVERYWHERE, "help", "question_mark f1", "Help", "Show every key of this screen.", 0),
    _a(EVERYWHERE, "handbook", "f2", "Handbook", "Read the handbook, at the topic of this screen.", 9),
    _a(EVERYWHERE, "command_palette", "ctrl+p", "Find", "Find any record by name, or any action.", 6),
    _a(EVERYWHERE, "switch_light", "f8", "Light/dark", "Change between the dark and the light look.", 9),
    _a(EVERYWHERE, "settings", "f9", "Studio", "Say who works here and what the studio is called.", 9),
    _a(EVERYWHERE, "stop_work", "ctrl+t", "Stop", "Stop waiting for the work that is going on.", 9, True),
    _a(EVERYWHERE, "quit", "ctrl+q", "Leave", "Leave the program. Everything is already saved.", 8, True),
    # each of the five places
    _a(_FIVE, "open_sheet", "enter", "Open", "Open the sheet of the chosen record.", 2),
    _a(_FIVE, "back", "escape", "Back", "Back to the list.", 6),
    _a(_FIVE, "search", "slash", "Search", "Search the list by name.", 5),
    _a(_FIVE, "read_again", "f5", "Read again", "Read the list again from the studio.", 9),
    _a(_FIVE, "related", "g", "Go to", "Go to a record that hangs together with this one: recipe, tile, pot, cast.", 4),
    _a(_FIVE, "go_back", "backspace alt+left", "Go back", "Back to the record from which this one was opened.", 7),
    # finishes
    _a("finishes", "mix", "m", "Mix", "Take this recipe to the Bench and work out what to weigh.", 3),
    _a("finishes", "start_tile", "t", "Tile", "Start a test tile of this recipe.", 3),
    _a("finishes", "safety", "s", "Safety", "Why each safety statement is made; release the recipe; its air.", 3),
    _a("finishes", "edit", "e", "Edit", "Edit the recipe's text; saving makes a new revision.", 4),
    _a("finishes", "new", "n", "New", "Write a new recipe.", 4),
    _a("finishes", "import_file", "i", "Import", "Take in a recipe file.", 5),
    _a("finishes", "history", "h", "History", "Choose an older revision to look at.", 6),
    _a("finishes", "starters", "a", "Starters", "Take in the recipes that come with the program.", 9),
    _a("finishes", "export", "x", "Export", "Write the recipe into a file.", 9),
    # bench
    _a("bench", "save_batch", "ctrl+s s", "Keep pot", "Keep a pot as it was mixed, and take it off the shelf.", 3),
    _a("bench", "print_sheet", "f7 p", "Print", "Write the batch sheet of the mix, or the label of an open pot.", 3),
    _a("bench", "next_list", "v", "Pots", "Change between recipes and open pots.", 4),
    _a("bench", "from_shelf", "f6 o", "Shelf", "Weigh from the lots on the shelf, in the form and assay they have.", 4),
    _a("bench", "measure_area", "f3 a", "Area", "Work out how much bronze there is, by one of five methods or two.", 4),
    _a("bench", "witness", "f4", "Witness", "Mix 100 mL more of each solution, to be kept sealed; again: none.", 7),
    _a("bench", "log_exposure", "x", "Exposure", "Write down who worked with what, how long, with which mask.", 6),
    _a("bench", "use_pot", "u", "Use up", "Write down what was used from an open pot.", 5),
    _a("bench", "torch", "w", "Work", "Go to the torch: take up an open work, or begin one with what is chosen.", 3),
    # tiles
    _a("tiles", "new", "n", "New", "Start a test tile.", 3),
    _a("tiles", "photograph", "f", "Photo", "Give the tile a photograph, or measure one it has.", 3),
    _a(
        "tiles casts",
        "before_after",
        "b",
        "Before/after",
        "Lay two of its photographs over each other.",
        5,
    ),
    _a("tiles casts", "placard", "P", "Placard", "Print its placard, to be photographed with the chart.", 7),
    _a("tiles casts", "shoot", "F", "Shoot", "Take in a folder of photographs that show placards.", 7),
    _a("change", "save_picture", "s ctrl+s", "Save", "Save the picture of the change as a PNG file.", 2),
    _a("change", "look", "l", "Look", "See the picture alone, as large and sharp as it goes.", 3),
    _a("change", "back", "escape", "Back", "Back to the record.", 2),
    _a("tiles", "mark", "space", "Mark", "Mark the tile for comparing; two can be marked.", 4),
    _a("tiles casts", "compare", "c", "Compare", "Compare two records side by side.", 4),
    _a("tiles casts", "judge", "j", "Judge", "Judge the colour against an agreed finish.", 5),
    _a("tiles casts", "nearest", "l", "Like it", "Find the tiles whose colour is nearest to this one.", 5),
    _a("tiles casts", "reading", "r", "Reading", "Type in a reading.", 5),
    _a("tiles", "order", "o", "Order", "Order the rack: newest first, by lightness, by hue, by recipe.", 6),
    _a("tiles", "import_csv", "i", "CSV", "Take in readings from an instrument's CSV file.", 6),
    _a("tiles", "agree", "a", "Agree", "Make the tile's colour an agreed finish.", 6),
    _a("tiles", "change", "e", "Edit", "Change what is written about the tile.", 6),
    _a("tiles", "print_sheet", "p f7", "Print", "Write the tile's record as a PDF.", 7),
    # casts
    _a("casts", "next_list", "v", "Lists", "Change between casts, pieces and agreed finishes.", 3),
    _a("casts", "new", "n", "New", "Add a cast, a piece or an agreed finish to the list shown.", 3),
    _a("casts", "treatment", "t", "Treatment", "Write down what was done to the cast.", 3),
    _a("casts", "change", "e", "Edit", "Change what is written about the cast.", 6),
    _a("casts", "photograph", "f", "Photo", "Give the cast a photograph, or measure one it has.", 5),
    _a("casts", "print_sheet", "p f7", "Print", "Write the cast's finish record as a PDF.", 7),
    _a(
        "tiles casts",
        "more",
        "x",
        "More",
        "Series, map, predictions, plans, causes, approval, agreed finishes in full.",
        4,
    ),
    _a("tiles", "rack_map", "m", "Map", "Show the rack as a map of its real colours.", 5),
    _a("casts", "series", "s", "Series", "Show the edition as a series: charts, alarms, what changed.", 4),
    # shelf
    _a("shelf", "new", "n", "New lot", "Put a lot on the shelf.", 3),
    _a("shelf", "take", "t", "Take", "Take from the lot.", 3),
    _a(
        "shelf",
        "count",
        "k",
        "Count",
        "Stock-take: write what the lot really holds; the difference stays on record.",
        4,
    ),
    _a("shelf", "change", "e", "Edit", "Change what is written about the lot.", 4),
    _a("shelf", "add_substance", "a", "Substance", "Add a substance from its supplier's data sheet.", 4),
    _a("shelf", "old_data", "c", "Old data", "Substances whose data ask to be checked against their data sheet.", 6),
    _a("shelf", "print_sheet", "p f7", "Print", "Write the wall sheet or the first-aid card of the shelf.", 5),
)
