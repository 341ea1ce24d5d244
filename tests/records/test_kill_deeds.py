"""A program killed amid a deed has lost nothing that it had answered; the long run is ``benchmarks/kill_deeds.py``."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the killed programs are forked")
def test_nothing_that_was_acknowledged_is_lost() -> None:
    """Kills while recipes, tiles, movements, undos and seals are put on record: all is there and checks clean."""
    kinds = ["recipe saved", "tile changed", "movement", "undo", "signing off"]
    command = [sys.executable, str(ROOT / "tests/benchmarks/kill_deeds.py"), "--kills", "5", *kinds]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=300,
                          env={**os.environ, "PYTHONPATH": str(ROOT)})  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "5 kills" in done.stdout
    assert "lost: 0 []" in done.stdout
    assert int(re.search(r"(\d+) acknowledged\n", done.stdout.split("kills,")[1])[1]) >= 5  # type: ignore[index]
