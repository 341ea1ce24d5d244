"""What comes near a colour, and whether a finish meets the one that was agreed."""

from __future__ import annotations

from patina.bench.matched.judging import judge as judge
from patina.bench.matched.rack import nearest as nearest
