"""What is loaded until the first screen can be used: a start that grows heavy is noticed here, not by a clock."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

from patina.bench.studio import open_studio

ROOT = Path(__file__).parents[2]

START = """
import gc, json, sys
import patina.commands.screens as command
from patina.cli import main
from tui.app import PatinaApp

settled = PatinaApp.first_screen_is_usable


def usable(app):
    loaded = sorted(sys.modules)
    held = gc.isenabled()
    settled(app)
    print(json.dumps([loaded, held, gc.isenabled(), gc.get_freeze_count()]), file=sys.__stderr__)
    app.exit()


PatinaApp.first_screen_is_usable = usable
command._in_a_terminal = lambda: True
main(["--studio", sys.argv[1]])
"""
LATER = {
    "the search": "patina.records.finding.searching",
    "the shelf": "patina.records.tables.shelf",
    "pieces": "patina.records.tables.pieces",
    "photographs": "patina.records.tables.photographs",
    "the log": "patina.records.log.changes",
    "the catalogue of substances": "patina.chemistry.substances",
    "a large field for text": "textual.widgets._text_area",
    "the demo": "patina.demo",
}


def test_what_is_not_shown_is_not_loaded_and_memory_is_left_alone(tmp_path: Path) -> None:
    """Until the first list can be used nothing is loaded for what comes later, and memory is not looked through;
    afterwards it is, without what was loaded until then."""
    with open_studio(tmp_path / "studio"):
        pass  # making a studio takes more than opening it
    driver = "textual.drivers.headless_driver:HeadlessDriver"
    done = subprocess.run(
        [sys.executable, "-c", START, str(tmp_path / "studio")],
        cwd=ROOT,
        env={**os.environ, "TEXTUAL_DRIVER": driver, "COLUMNS": "120", "LINES": "36"},
        capture_output=True,
        text=True,
        timeout=120,
    )
    lines = [line for line in done.stderr.splitlines() if line.startswith("[[")]
    assert lines, done.stderr
    loaded, held, after, frozen = json.loads(lines[0])
    assert {"tui.screens.finishes", "patina.records.recipes.recipes"} <= set(loaded)
    assert not {what: name for what, name in LATER.items() if name in loaded}
    assert not held
    assert after
    assert frozen > 50_000
