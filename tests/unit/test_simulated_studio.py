"""Simulated truth through the records: drifts told, verdicts wrong no more often than stated, a ladder that is short.

The full counts: python tests/benchmarks/simulate_series.py
"""

from __future__ import annotations

import statistics
from pathlib import Path

from simulated_studio import climbs, drifts, empty_studio, verdicts

from patina.bench.studio import open_studio


def test_a_drift_through_the_records_is_told(tmp_path: Path) -> None:
    """0.5 ΔE a cast is told by cast 6 in at least 80 % of 60 editions, with at most 5 % of alarms without drift."""
    with open_studio(tmp_path / "studio") as studio:
        found = drifts(studio, 60, seed=20)
    assert found.told >= 0.8 * found.runs
    assert found.false <= 0.05 * found.runs


def test_verdicts_through_the_records_are_wrong_no_more_often_than_stated(tmp_path: Path) -> None:
    """Of 400 pieces at, inside and outside the limit fewer than 5 % are passed or failed wrongly; the records lose
    nothing: as many are told as from the bare spots."""
    with open_studio(tmp_path / "studio") as studio:
        found = verdicts(studio, 400, seed=42)
    assert found.wrong_pass < 0.05 * found.outside
    assert found.wrong_fail < 0.05 * found.inside
    assert found.told == found.told_alone > 0.3 * (found.outside + found.inside)


def test_the_ladder_through_the_records_is_shorter_than_the_grid(tmp_path: Path) -> None:
    """Sixteen cards of eight settings: fewer tiles (median) than making the eight in order until one is right."""
    runs = list(climbs(empty_studio(tmp_path / "empty"), tmp_path, 16, seed=5, earlier=3))
    assert statistics.median(r.ladder for r in runs) < statistics.median(r.grid for r in runs)
    assert statistics.mean(r.ladder for r in runs) < statistics.mean(r.grid for r in runs)
