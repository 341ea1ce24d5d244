"""Charts drawn with characters: limits, points beyond them, changes; the axes of the map."""

from __future__ import annotations

from tui.charts import axis_range, individuals, place


def test_a_point_beyond_its_limit_has_another_sign() -> None:
    """Inside ●, worth a look ◆, beyond ✖; a change is marked above its cast; limits carry their figures."""
    lines = individuals(
        [26.0, 25.0, 20.0],
        ["1/9", "2/9", "3/9"],
        name="L*",
        centre=26.0,
        lower=24.0,
        upper=28.0,
        marked=[1],
        changed=[2],
    )
    drawn = "\n".join(lines)
    assert (drawn.count("●"), drawn.count("◆"), drawn.count("✖")) == (1, 1, 1)
    assert lines[0].rstrip().endswith("▽") and lines[0].startswith("L*")
    assert any(line.startswith("  28.00 │") for line in lines) and "26.00" in drawn
    assert lines[-1].split() == ["1/9", "2/9", "3/9"]
    columns = [line.index(sign) for sign in "●◆✖" for line in lines if sign in line]
    assert columns == sorted(columns)


def test_lightness_falls_from_above() -> None:
    """A higher value stands higher."""
    lines = individuals([30.0, 20.0], ["a", "b"], name="L*", centre=25.0, lower=15.0, upper=35.0)
    rows = [n for n, line in enumerate(lines) for c in line if c == "●"]
    assert rows[0] < rows[1]


def test_values_all_alike_are_drawn() -> None:
    """No spread at all: one line, no division by nothing."""
    assert (
        sum(
            line.count("●") for line in individuals([5.0, 5.0], ["a", "b"], name="a*", centre=5.0, lower=5.0, upper=5.0)
        )
        == 2
    )


def test_the_axes_hold_every_value() -> None:
    """Whole tens around the values, at least so wide; a value at the edge stays on the map."""
    assert axis_range([-3.0, 12.0], least=40.0) == (-10.0, 30.0)
    assert axis_range([], least=40.0) == (0.0, 40.0)
    low, high = axis_range([-20.0, 61.0], least=40.0)
    assert (low, high) == (-20.0, 70.0)
    assert place(-20.0, low, high, 30) == 0 and place(70.0, low, high, 30) == 29 and place(71.0, low, high, 30) is None
