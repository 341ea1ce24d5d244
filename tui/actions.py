"""Every action of the screens: one table that bindings, key bar, help and palette are made of."""

from __future__ import annotations

from dataclasses import dataclass

from textual.binding import Binding

EVERYWHERE = "everywhere"
PLACES = ("finishes", "bench", "tiles", "casts", "shelf")


@dataclass(frozen=True, slots=True)
class Action:
    """Something a person can do.

    where: names of the screens it belongs to. name: of the method ``action_NAME``. keys: the first
    one is shown, or shown_as where several belong together. label: one or two words for the key
    bar. tooltip: a sentence for the help.
    rank: lower stands earlier in the key bar; 9 stays out of it. priority: also while typing.
    """

    where: tuple[str, ...]
    name: str
    keys: tuple[str, ...]
    label: str
    tooltip: str
    rank: int = 5
    priority: bool = False
    shown_as: str = ""

    @property
    def key(self) -> str:
        """Its first key, or keys that belong together, as printed on the keyboard."""
        return self.shown_as or key_name(self.keys[0])


def _a(
    where: str, name: str, keys: str, label: str, tooltip: str, rank: int = 5, priority: bool = False, shown: str = ""
) -> Action:
    return Action(tuple(where.split()), name, tuple(keys.split()), label, tooltip, rank, priority, shown)


_FIVE = " ".join(PLACES)

ACTIONS: tuple[Action, ...] = (
    # everywhere
    _a(EVERYWHERE, "go('finishes')", "1", "Finishes", "Go to Finishes: recipes and what they look like.", 9),
    _a(EVERYWHERE, "go('bench')", "2", "Bench", "Go to Bench: what to weigh, and the pots that stand open.", 9),
    _a(EVERYWHERE, "go('tiles')", "3", "Tiles", "Go to Tiles: the rack, photographs, readings.", 9),
    _a(EVERYWHERE, "go('casts')", "4", "Casts", "Go to Casts: casts, pieces, agreed finishes.", 9),
    _a(EVERYWHERE, "go('shelf')", "5", "Shelf", "Go to Shelf: chemicals and lots.", 9),
    _a(EVERYWHERE, "help", "question_mark f1", "Help", "Show every key of this screen.", 0),
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
    # torch
    _a("torch", "pass_done", "space", "Pass done", "Write down that a pass, or a step without passes, is done.", 1),
    _a("torch", "type('temperature')", "t", "Metal", "Write down the temperature of the metal.", 2),
    _a("torch", "type('left')", "v", "Left", "Write down how much is left in the pot.", 2),
    _a("torch", "type('note')", "n", "Note", "Write a note.", 3),
    _a("torch", "undo", "b backspace", "Take back", "Take the newest thing back; it stays on record as taken back.", 2),
    _a("torch", "turn_zone(1)", "z", "Zone", "Go to the next zone.", 3),
    _a("torch", "turn_step(1)", "s", "Step", "Go to the next step.", 3),
    _a("torch", "turn_zone(-1)", "Z", "Zone before", "Go to the zone before.", 9),
    _a("torch", "turn_step(-1)", "S", "Step before", "Go to the step before.", 9),
    _a("torch", "release", "r", "Rinse", "Rinse waters, release before wax, coats of wax or lacquer.", 4),
    _a("torch", "heat", "h", "Heat", "Work out how far a pass cools the metal, and what holds it.", 4),
    _a("torch", "log", "l", "Log", "Show all that happened, with every temperature and what was used.", 5),
    _a("torch", "more", "x", "More", "Another pot, strip check, leftovers, hours, safety notes, the bill, the end.", 3),
    _a("torch", "leave", "escape", "Leave", "Leave the screen; the work stays open and is taken up where it was.", 5),
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
    # series and map
    _a("series map", "back", "escape", "Back", "Back to where you came from.", 2),
    _a("series", "order", "o", "Order", "By edition number, or by date of casting.", 3),
    _a("map", "open_tile", "enter", "Open", "Open the sheet of the chosen tile.", 2),
    _a("map", "move('left')", "left", "Move", "Go to the next tile on the left.", 3, shown="Arrows"),
    _a("map", "move('right')", "right", "Right", "Go to the next tile on the right.", 9),
    _a("map", "move('up')", "up", "Up", "Go to the next tile above.", 9),
    _a("map", "move('down')", "down", "Down", "Go to the next tile below.", 9),
    _a("map", "axes", "x", "Axes", "Change between a*–b* and C*–L*.", 3),
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
    # photograph
    _a("photograph", "read", "enter ctrl+s", "Read", "Read the colour of the areas.", 2),
    _a("photograph", "shift('left')", "left", "Move", "Move the area or point left.", 3, shown="Arrows"),
    _a("photograph", "shift('right')", "right", "Right", "Move the area right.", 9),
    _a("photograph", "shift('up')", "up", "Up", "Move the area up.", 9),
    _a("photograph", "shift('down')", "down", "Down", "Move the area down.", 9),
    _a(
        "photograph",
        "stretch('left')",
        "shift+left less_than_sign",
        "Size",
        "Make the area narrower.",
        4,
        shown="Shift+←→",
    ),
    _a("photograph", "stretch('right')", "shift+right greater_than_sign", "Wider", "Make the area wider.", 9),
    _a("photograph", "stretch('up')", "shift+up minus", "Lower", "Make the area less high.", 9),
    _a("photograph", "stretch('down')", "shift+down plus", "Higher", "Make the area higher.", 9),
    _a("photograph", "next_thing", "tab", "Next", "Choose the next area or point.", 4),
    _a("photograph", "add_area", "n", "Add area", "Add another area.", 5),
    _a("photograph", "drop_area", "delete d", "Drop", "Take the chosen area away.", 6),
    _a("photograph", "place_points", "p", "Points", "Place the four chart points yourself.", 5),
    _a("photograph", "type_figures", "t", "Figures", "Type the area or the chart points as pixels.", 6),
    _a("photograph", "edition", "e", "Edition", "Say which edition of the chart it is.", 5),
    _a(
        "photograph",
        "corrected",
        "c",
        "Corrected",
        "The picture corrected by the chart, or as it was taken.",
        4,
    ),
    _a("photograph", "without_chart", "w", "No chart", "Read without a chart: a rough figure only.", 7),
    _a("photograph", "look", "l", "Look", "See the photograph alone, as large as it goes.", 7),
    _a("photograph comparing reading recipe look", "back", "escape", "Back", "Back to where you came from.", 2),
    # reading
    _a("reading", "keep", "enter ctrl+s", "Keep", "Keep the readings with the record.", 2),
    # comparing
    _a("comparing", "formula", "f", "Formula", "Change the formula of the difference.", 3),
    _a("comparing", "swap", "x", "Swap", "Swap reference and sample.", 3),
    _a("comparing", "judge", "j", "Judge", "Judge the sample against an agreed finish.", 3),
    # safety page
    _a("safety", "release", "r", "Release", "Release the recipe for work on pieces, or take the release back.", 2),
    _a("safety", "try_strength", "t", "Strength", "Type a strength and see what the pot becomes.", 2),
    _a("safety", "next_part", "n", "Next", "Try the next ingredient.", 3),
    _a("safety", "unfold", "u", "Unfold", "Unfold every reason, or fold them again; Enter unfolds one.", 3),
    _a("safety", "measured", "p", "Measured", "Give the measured pH and density; they decide what is undecided.", 4),
    _a("safety", "air", "a", "Air", "The gas of each step against each body's limit, in your room.", 3),
    _a("safety", "step_statement(1)", "down j", "Move", "To the next statement.", 5, shown="↑ ↓"),
    _a("safety", "step_statement(-1)", "up k", "Up", "To the statement before.", 9),
    _a("safety", "back", "escape", "Back", "Back to where you came from.", 2),
    # recipe text
    _a(
        "recipe",
        "old_words",
        "f3",
        "Old words",
        "Turn an old recipe's words (2 tsp per pint) into g/L.",
        3,
    ),
    _a("recipe", "save", "ctrl+s", "Save", "Save the text as a recipe, or as a new revision.", 2, True),
)


def of_screen(where: str) -> tuple[Action, ...]:
    """The actions of a screen, its own first, then those that work everywhere."""
    own = [a for a in ACTIONS if where in a.where and where != EVERYWHERE]
    return (*own, *(a for a in ACTIONS if EVERYWHERE in a.where))


def bindings(where: str) -> list[Binding]:
    """The bindings of a screen, or of the app for ``everywhere``."""
    return [
        Binding(",".join(a.keys), a.name, a.label, show=a.rank < 9, tooltip=a.tooltip, priority=a.priority)
        for a in ACTIONS
        if where in a.where
    ]


_KEY_NAMES = {
    "question_mark": "?",
    "slash": "/",
    "escape": "Esc",
    "enter": "Enter",
    "space": "Space",
    "tab": "Tab",
    "delete": "Del",
    "left": "←",
    "right": "→",
    "up": "↑",
    "down": "↓",
    "less_than_sign": "<",
    "greater_than_sign": ">",
    "minus": "-",
    "plus": "+",
}


def key_name(key: str) -> str:
    """A key as it is printed on the keyboard.

    >>> key_name("ctrl+s"), key_name("question_mark"), key_name("f7"), key_name("shift+left")
    ('Ctrl+S', '?', 'F7', 'Shift+←')
    """
    *held, last = key.split("+") if key != "plus" else ["plus"]
    name = _KEY_NAMES.get(last, last.upper() if held or len(last) > 1 else last)
    return "+".join([*(h.capitalize() for h in held), name])
