"""Broken input of every kind ends in a sentence and a remedy, never in a crash, and leaves nothing half-stored."""

from __future__ import annotations

import io
import random
import struct
import zlib
from pathlib import Path

import fuzz_mutations as broken
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from patina.bench.entry_rules import reading_in_order
from patina.bench.readings.readings_csv import read_readings
from patina.bench.readings.tiles import import_readings_csv
from patina.bench.recipes.finishes import add_starters, import_files, list_recipes
from patina.bench.studio import Studio, open_studio
from patina.bench.upkeep import backup, check
from patina.chemistry.strength import parse_strength, show_strength
from patina.chemistry.substances import catalogue
from patina.errors import PatinaError
from patina.recipe_file import read_recipe_text, write_recipe
from patina.safety.notes import safety_of
from patina.units import area_m2, coverage_ml_per_m2, duration_h, length_mm, mass_g, share, temperature_c, volume_ml

SEEDS = st.integers(0, 2**32)
STEADY = settings(max_examples=900, deadline=None, derandomize=True, database=None)


@STEADY
@given(SEEDS)
def test_a_broken_recipe_is_refused_or_means_one_thing(seed: int) -> None:
    """A mutated recipe file is refused with a remedy, or is the same recipe when written and read again."""
    text = broken.broken_recipe(random.Random(seed))
    try:
        recipe = read_recipe_text(text, catalogue())
    except PatinaError as trouble:
        assert trouble.what
        assert trouble.remedy
        return
    assert read_recipe_text(write_recipe(recipe, catalogue()), catalogue()) == recipe
    try:
        assert safety_of(recipe, catalogue()).caution
    except PatinaError as trouble:
        assert trouble.remedy


@pytest.mark.parametrize("text", broken.RECIPES, ids=range(len(broken.RECIPES)))
def test_every_starter_survives_being_written(text: str) -> None:
    """Export and import of a starter finish give an equal recipe."""
    recipe = read_recipe_text(text, catalogue())
    assert read_recipe_text(write_recipe(recipe, catalogue()), catalogue()) == recipe


READERS = (area_m2, volume_ml, mass_g, length_mm, duration_h, temperature_c, share, coverage_ml_per_m2)


@settings(STEADY, max_examples=700)
@given(st.one_of(SEEDS.map(lambda s: broken.broken_words(random.Random(s))), st.text(max_size=30)))
def test_words_of_a_quantity_are_refused_or_a_finite_number(words: str) -> None:
    """Whatever is written where a quantity belongs: a finite number not below zero (a temperature may be), or a
    sentence."""
    for reader in READERS:
        try:
            value = reader(words)
        except PatinaError as trouble:
            assert trouble.what
            assert trouble.remedy
            continue
        assert (0 <= value < 1e9) if reader is not temperature_c else (-50 <= value <= 1500)


@settings(STEADY, max_examples=700)
@given(st.one_of(SEEDS.map(lambda s: broken.broken_words(random.Random(s))), st.text(max_size=30)))
def test_words_of_a_strength_are_refused_or_read_back(words: str) -> None:
    """A strength that is read at all is above zero and reads back from its own plain words."""
    try:
        strength = parse_strength(words)
    except PatinaError as trouble:
        assert trouble.remedy
        return
    assert strength.value > 0
    again = parse_strength(show_strength(strength))
    assert again.basis == strength.basis
    assert again.value == pytest.approx(strength.value, rel=1e-9)


def test_broken_recipes_on_the_command_line(tmp_path: Path) -> None:
    """`patina mix` and `patina safety` on mutated files keep their promise about exit codes and documents."""
    chance, file = random.Random(20), tmp_path / "recipe.toml"
    for _ in range(150):
        file.write_text(broken.broken_recipe(chance), encoding="utf-8", errors="replace")
        for words in (("mix", file, "--area", "1,2 m2"), ("mix", file, "--volume", "2 L"), ("safety", file)):
            broken.run(*words)


def test_broken_tables_of_pairs(tmp_path: Path) -> None:
    """A mutated CSV of pairs is refused by row and column, or each difference is a number from 0 on."""
    chance, file = random.Random(21), tmp_path / "pairs.csv"
    for _ in range(300):
        file.write_bytes(broken.broken_bytes(chance, broken.PAIRS))
        ended = broken.run("compare", "--pairs", file)
        if ended.document is not None:
            assert all(d >= 0 for d in ended.document["delta_e"])
            assert ended.document["delta_e"]


def test_broken_tables_of_readings(studio: Studio, tmp_path: Path) -> None:
    """An instrument's CSV, mutated, for tiles that are not there: always refused, and no reading is kept."""
    chance, file = random.Random(24), tmp_path / "readings.csv"
    with studio:
        for _ in range(300):
            file.write_bytes(broken.broken_bytes(chance, broken.READINGS))
            with pytest.raises(PatinaError) as told:
                import_readings_csv(studio, file)
            assert told.value.remedy
        assert check(studio).records == 0


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("n", "inf"),
        ("n", "1e300"),
        ("n", "-1"),
        ("L", "1_0"),
        ("L", "-5"),
        ("a", "1e308"),
        ("observer", "5"),
        ("uncertainty_de00", "-1"),
        ("read_at", "0001-01-01T00:00"),
        ("read_at", "0001-01-01T00:00+14:00"),
        ("read_at", "9999-12-31T23:59-12:00"),
    ],
)
def test_a_reading_that_cannot_be_is_refused(tmp_path: Path, column: str, cell: str) -> None:
    """Figures and dates that no instrument gives are refused by the rules of a reading."""
    cells = {"L": "50", "a": "1", "b": "2", column: cell}
    file = tmp_path / "readings.csv"
    file.write_text(",".join(cells) + "\n" + ",".join(cells.values()) + "\n", encoding="utf-8")
    with pytest.raises(PatinaError):
        for _, entry in read_readings(file, "T1"):
            reading_in_order(entry)


def test_endless_and_odd_files_are_refused(tmp_path: Path) -> None:
    """Devices, folders, empty and missing files in place of a recipe, a table or a mesh."""
    (tmp_path / "empty").touch()
    for file in (Path("/dev/zero"), Path("/dev/null"), tmp_path, tmp_path / "empty", tmp_path / "none"):
        for words in (("compare", "--pairs", file), ("area", "mesh", file, "--unit", "mm"), ("backup", tmp_path)):
            assert broken.run("--studio", tmp_path / "studio", *words).code == 2
        assert broken.run("--studio", tmp_path / "studio", "import", file).code == 2
        assert broken.run("--studio", tmp_path / "studio", "restore", file).code == 2
    assert broken.run("--studio", tmp_path / "studio", "list", "recipes").document == {"items": []}


def test_broken_photographs_are_refused_or_read(tmp_path: Path) -> None:
    """Cut, changed and odd pictures: a sentence, or a reading with finite figures."""
    chance, read = random.Random(22), 0
    for name, content in broken.pictures():
        for n in range(8):
            file = tmp_path / name
            file.write_bytes(content if n == 0 else broken.broken_bytes(chance, content))
            ended = broken.run("read", file, "--chart", "none", "--area", "a=4,4,20,20")
            if ended.document is not None:
                read += 1
                [area] = ended.document["areas"]
                assert all(isinstance(v, float) for v in area["lab"])
    assert read > 10  # the sound ones at least, so that the broken ones are not refused for something else


def _png(width: int, height: int) -> bytes:
    """A PNG of a few bytes that claims a size."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0")) + chunk(b"IEND", b"")


@pytest.mark.parametrize("size", [(60_000, 60_000), (2**31 - 1, 2**31 - 1), (0, 0), (0, 9), (5000, 1)])
def test_a_picture_that_claims_what_it_does_not_hold(tmp_path: Path, size: tuple[int, int]) -> None:
    """A decompression bomb, a picture without pixels and one that ends at once are not opened."""
    file = tmp_path / "bomb.png"
    file.write_bytes(_png(*size))
    assert broken.run("read", file).code == 2


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A backup of a studio with the starter finishes."""
    folder = tmp_path_factory.mktemp("sound")
    with open_studio(folder / "studio") as studio:
        add_starters(studio)
        backup(studio, folder / "backup.zip")
    return (folder / "backup.zip").read_bytes()


@pytest.fixture
def studio(tmp_path: Path) -> Studio:
    """An empty studio."""
    return open_studio(tmp_path / "studio")


def test_hostile_archives_leave_the_studio_as_it_was(sound: bytes, studio: Studio, tmp_path: Path) -> None:
    """An archive with foreign parts, links, wrong hashes or wild claims gives all its recipes or none, and writes
    nowhere else."""
    chance, file = random.Random(23), tmp_path / "in" / "archive.zip"
    file.parent.mkdir()
    with studio:
        for n in range(30):
            whole = broken.repacked(sound, chance) if n % 3 else broken.broken_bytes(chance, sound)
            file.write_bytes(whole)
            before = list_recipes(studio)
            try:
                import_files(studio, [file])
            except PatinaError as trouble:
                assert trouble.remedy
                assert list_recipes(studio) == before
        assert check(studio).ok
    assert {p.name for p in tmp_path.iterdir()} == {"in", "studio"}
    assert list(file.parent.iterdir()) == [file]


def test_a_recipe_that_no_pot_can_hold_is_not_kept(studio: Studio, tmp_path: Path) -> None:
    """Strengths that contradict themselves give no safety notes, so the recipe is refused and nothing is stored."""
    file = tmp_path / "strong.toml"
    text = broken.RECIPES[0]
    for strength in ("5 % v/v", "0.2 % v/v"):
        lines = [f'strength = "{strength}"' if line.startswith("strength") else line for line in text.split("\n")]
        swapped = ['substance = "silver nitrate"' if line.startswith("substance") else line for line in lines]
        file.write_text("\n".join(swapped), encoding="utf-8")
        with pytest.raises(PatinaError):
            import_files(studio, [file])
    assert list_recipes(studio) == ()
    studio.close()


def test_a_text_stream_of_nonsense_is_not_taken_for_a_backup(tmp_path: Path) -> None:
    """A file that begins like a ZIP and is none is refused as one."""
    file = tmp_path / "not.zip"
    stream = io.BytesIO(b"PK\x03\x04" + bytes(range(256)) * 20)
    file.write_bytes(stream.getvalue())
    assert broken.run("--studio", tmp_path / "studio", "import", file).code == 2
