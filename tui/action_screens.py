"""Actions of the screens that open from a place."""

from __future__ import annotations

from tui.action import Action
from tui.action import row as _a

ROWS: tuple[Action, ...] = (
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
    # series and map
    _a("series map", "back", "escape", "Back", "Back to where you came from.", 2),
    _a("series", "order", "o", "Order", "By edition number, or by date of casting.", 3),
    _a("map", "open_tile", "enter", "Open", "Open the sheet of the chosen tile.", 2),
    _a("map", "move('left')", "left", "Move", "Go to the next tile on the left.", 3, shown="Arrows"),
    _a("map", "move('right')", "right", "Right", "Go to the next tile on the right.", 9),
    _a("map", "move('up')", "up", "Up", "Go to the next tile above.", 9),
    _a("map", "move('down')", "down", "Down", "Go to the next tile below.", 9),
    _a("map", "axes", "x", "Axes", "Change between a*–b* and C*–L*.", 3),
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
    _a("handbook", "back", "escape", "Back", "Back to the topics, then to where you came from.", 2),
    # reading
    _a("reading", "keep", "enter ctrl+s", "Keep", "Keep the readings with the record.", 2),
    # comparing
    _a("comparing", "formula", "f", "Formula", "Change the formula of the difference.", 3),
    _a("comparing", "swap", "x", "Swap", "Swap reference and sample.", 3),
    _a("comparing", "judge", "j", "Judge", "Judge the sample against an agreed finish.", 3),
    _a("comparing", "picture", "p f7", "Picture", "Write both side by side, tones with their shares, to a file.", 3),
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
