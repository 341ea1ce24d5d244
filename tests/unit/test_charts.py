"""The studio's own charts: remembered once, read by their name."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest

import swatches
from patina.bench.readings.charts import add_chart, as_read, chart_of, drop_chart, list_charts, read_by
from patina.bench.studio import Studio, open_studio
from patina.cli import main
from patina.colour.chart_data import own_values, published
from patina.errors import BadChart, BadQuantity, NotFound


@pytest.fixture
def studio(tmp_path: Path) -> Iterator[Studio]:
    """An empty studio."""
    with open_studio(tmp_path / "studio") as opened:
        yield opened


def _values(folder: Path, shift: float = 0.0) -> Path:
    """The published values before November 2014 as a file of own ones, each L* moved by ``shift``."""
    labs = published("before-2014").lab
    rows = [f"{n},{L + shift},{a},{b}" for n, (L, a, b) in enumerate(labs.tolist(), 1)]
    file = folder / "mine.csv"
    file.write_text("patch,L,a,b\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return file


def test_a_chart_is_remembered_with_its_edition(studio: Studio) -> None:
    """Said once, the edition is there whenever the chart is named; forgotten, it is gone."""
    add_chart(studio, "pocket 1", edition="before-2014")
    with as_read(studio, "pocket 1", "unknown") as found:
        assert found == ("auto", "before-2014")
    add_chart(studio, "pocket 1", edition="after-2014")
    assert [c.edition for c in list_charts(studio)] == ["after-2014"]
    drop_chart(studio, "pocket 1")
    with pytest.raises(NotFound, match="none yet"):
        chart_of(studio, "pocket 1")


def test_own_values_are_read_by_their_name(studio: Studio, tmp_path: Path) -> None:
    """A chart whose own values lie 2 L* below the published ones reads everything darker."""
    add_chart(studio, "faded", values=_values(tmp_path, -2.0))
    with as_read(studio, "faded", "unknown") as (file, _):
        assert own_values(Path(file)).lab[18, 0] == pytest.approx(published("before-2014").lab[18, 0] - 2.0)
    picture = "brown-and-chestnut.jpg"
    x, y, w, h = swatches.truth()[picture]["tiles"][0]["rect"]
    areas = [f"tile={x},{y},{w},{h}"]
    photo = swatches.photograph(picture)
    plain = read_by(studio, photo, chart="auto", edition="before-2014", areas=areas).areas[0].lab
    darker = read_by(studio, photo, chart="faded", edition="unknown", areas=areas).areas[0].lab
    assert darker.L < plain.L - 0.5


def test_what_cannot_be_a_chart_is_refused(studio: Studio, tmp_path: Path) -> None:
    """A name that means something else, an edition that is none, a file that is no table."""
    for name in ("auto", "", "a/b", "white-card", "x" * 61):
        with pytest.raises(BadQuantity):
            add_chart(studio, name)
    with pytest.raises(BadQuantity):
        add_chart(studio, "mine", edition="2014")
    (tmp_path / "no.csv").write_text("hello\n")
    with pytest.raises(BadChart):
        add_chart(studio, "mine", values=tmp_path / "no.csv")
    assert list_charts(studio) == ()


def test_from_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`patina chart add`, then `patina read --chart NAME`."""

    def run(*words: str) -> tuple[int, str]:
        with pytest.raises(SystemExit) as leaving:
            main(["--studio", str(tmp_path / "s"), *words, "--json"])
        return int(leaving.value.code or 0), capsys.readouterr().out

    assert run("chart", "add", "bench chart", "--edition", "before-2014")[0] == 0
    code, out = run("read", str(swatches.photograph("whites.jpg")), "--chart", "bench chart")
    assert code == 0
    assert json.loads(out)["chart"]["edition"] == "before-2014"
    assert run("read", str(swatches.photograph("whites.jpg")), "--chart", "another")[0] == 2
    assert json.loads(run("chart", "list")[1])["charts"][0]["name"] == "bench chart"
