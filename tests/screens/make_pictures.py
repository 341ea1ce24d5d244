"""Pictures of the screens for README and handbook: an invented studio, driven by keys, drawn as SVG.

Run by hand: ``python tests/screens/make_pictures.py [LANGUAGE] [NAME...]`` writes ``swatches/screens/*.svg``, and for
another language than English those that its handbook shows into a folder of its own (``swatches/screens/de/*.svg``).
"""

from __future__ import annotations

import asyncio
import re
import sys
import tempfile
from collections.abc import Awaitable, Callable
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))
sys.path.insert(0, str(Path(__file__).parent))

from screens_driver import Driver, Running  # noqa: E402

from patina.bench.pieces import casts  # noqa: E402
from patina.bench.readings import tiles  # noqa: E402
from patina.bench.recipes import finishes  # noqa: E402
from patina.bench.studio import Studio, open_studio  # noqa: E402
from patina.bench.torch import work, work_forms  # noqa: E402
from patina.demo.studio import make_demo  # noqa: E402
from patina.handbook import topics  # noqa: E402
from patina.language import LANGUAGES  # noqa: E402

OUT = ROOT / "swatches" / "screens"
SIZE = (120, 36)
MOST_BYTES = 120_000
RECIPE = "Torch sulphide brown"
TILE = "HM-03"
COMPARED = ("HM-02", "HM-03")


CELL = 12.2  # width of a character in the drawing; its height is twice that
STEP = 5  # colours of a photograph are rounded to 52 steps a channel, which keeps the file small


def without_addresses(svg: str) -> str:
    """The drawing without fonts from the network and without comments; any fixed-width font serves."""
    svg = re.sub(r"@font-face\s*\{.*?\}\s*", "", svg, flags=re.DOTALL)
    svg = re.sub(r"<!--.*?-->\s*", "", svg, flags=re.DOTALL)
    return re.sub(r"font-family:\s*Fira Code,\s*monospace", "font-family: monospace", svg)


def indented(svg: str) -> str:
    """The drawing with indents as places and not as blanks, which some viewers drop."""

    def moved(found: re.Match[str]) -> str:
        head, x, y, length, tail, text = found.groups()
        words = re.sub("^(?:&#160;)+", "", text)
        blanks = (len(text) - len(words)) // len("&#160;")
        if not words:
            return ""
        x, length = float(x) + CELL * blanks, float(length) - CELL * blanks
        return f'{head}x="{x:.1f}" y="{y}" textLength="{length:.1f}"{tail}>{words}'

    return re.sub(
        r'(<text [^>]*?)x="([\d.]+)" y="([\d.]+)" textLength="([\d.]+)"([^>]*)>((?:&#160;)+[^<]*)', moved, svg
    )


def flat(svg: str) -> str:
    """The drawing with a photograph's half blocks as plain shapes, one for all of a colour."""
    fills = dict(re.findall(r"\.(\S+) \{ fill: #(\w{6})", svg))
    behind = {(x, y): fill for fill, x, y in re.findall(r'<rect fill="#(\w{6})" x="([\d.]+)" y="([\d.]+)"', svg)}
    halves: dict[str, list[tuple[int, int, int]]] = {}

    def taken(found: re.Match[str]) -> str:
        name, x, line, blocks = found.groups()
        at = (x, f"{float(1.5 + 24.4 * int(line)):g}")
        for half, fill in enumerate((fills[name], behind.get(at))):
            if fill is None:  # the last line of a picture with an odd number of rows has no lower half
                continue
            halves.setdefault(_rounded(fill), []).append((round(float(x) / CELL), 2 * int(line) + half, len(blocks)))
        return ""

    svg = re.sub(r'<text class="(\S+)" x="([\d.]+)"[^>]*-line-(\d+)\)">(▀+)</text>\s*', taken, svg)
    if not halves:
        return svg
    places = {(x, y // 2) for runs in halves.values() for x, y, _ in runs}
    svg = re.sub(
        r'<rect fill="#\w{6}" x="([\d.]+)" y="([\d.]+)"[^>]*/>',
        lambda r: "" if (round(float(r[1]) / CELL), round((float(r[2]) - 1.5) / 24.4)) in places else r[0],
        svg,
    )
    svg = re.sub(r"\.(\S+) \{ fill: [^}]*\}\s*", lambda r: r[0] if f'class="{r[1]}"' in svg else "", svg)
    shapes = "".join(
        f'<path fill="#{fill}" d="{"".join(f"M{x},{y}h{n}v1h-{n}z" for x, y, n in _joined(runs))}"/>\n'
        for fill, runs in sorted(halves.items())
    )
    group = f'<g transform="translate(0,1.5) scale({CELL})" shape-rendering="crispEdges">\n{shapes}</g>\n'
    at = svg.index("<g", svg.index("clip-terminal)", svg.index("</defs>")))
    return svg[:at] + group + svg[at:]


def _rounded(fill: str) -> str:
    return "".join(f"{STEP * round(int(fill[n : n + 2], 16) / STEP):02x}" for n in (0, 2, 4))


def _joined(runs: list[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    """Runs of cells (column, half line, length), those that touch made one."""
    joined: list[tuple[int, int, int]] = []
    for x, y, n in sorted(runs, key=lambda run: (run[1], run[0])):
        if joined and joined[-1][1] == y and sum(joined[-1][::2]) == x:
            joined[-1] = (joined[-1][0], y, joined[-1][2] + n)
        else:
            joined.append((x, y, n))
    return joined


async def _at(person: Driver, key: str, place: str, record: str = "") -> None:
    await person.press(key)
    await person.until(lambda: person.app.current_mode == place and person.app.screen.sheet is not None, 15)
    if record:
        person.app.open_record(record)
        await person.until(lambda: record in _shown(person), 15)
    await _still(person)


def _shown(person: Driver) -> str:
    sheet = getattr(person.app.screen, "sheet", None)
    sheet = sheet[0] if isinstance(sheet, tuple) else sheet
    return str(getattr(getattr(sheet, "row", sheet), "id", ""))


async def _still(person: Driver) -> None:
    """Wait until no work goes on and what came of it is drawn."""
    await person.until(lambda: not person.app.jobs.running, 30)
    await person.pilot.pause(0.3)


async def _screen(person: Driver, name: str) -> None:
    await person.until(lambda: type(person.app.screen).__name__ == name, 15)
    await _still(person)


async def _finishes(person: Driver) -> None:
    await _at(person, "1", "finishes", finishes.recipe_sheet(person.app.studio, RECIPE).id)


async def _safety(person: Driver) -> None:
    await _finishes(person)
    await person.press("s")
    await _screen(person, "SafetyPage")


async def _mixing(person: Driver) -> None:
    await _finishes(person)
    await person.press("m")
    await person.until(lambda: person.app.current_mode == "bench" and person.app.screen.sheet is not None, 15)
    await person.write("1.8 m2")
    await _still(person)


async def _tiles(person: Driver) -> None:
    await _at(person, "3", "tiles", tiles.tile_sheet(person.app.studio, TILE).row.id)


async def _photograph(person: Driver) -> None:
    await _tiles(person)
    await person.press("f")
    await person.until(lambda: type(person.app.screen).__name__ != "Tiles", 15)
    if type(person.app.screen).__name__ != "Photograph":
        await person.press("enter")
    await _screen(person, "Photograph")
    await person.press("k", "home", "down", "enter")  # the chart of the demonstration: before 2014
    await person.press(*["left"] * 20, *["down"] * 6)  # onto the left tile
    await _still(person)


async def _reading(person: Driver) -> None:
    await _photograph(person)
    await person.press("enter")
    await _screen(person, "Reading")


async def _comparison(person: Driver) -> None:
    for engraved in COMPARED:
        await _at(person, "3", "tiles", tiles.tile_sheet(person.app.studio, engraved).row.id)
        await person.press("space")
    await person.press("c")
    await _screen(person, "Comparing")


async def _torch(person: Driver) -> None:
    studio = person.app.studio
    first = next(row for row in casts.list_casts(studio) if row.number == "2/9")
    form = {"target": first.id, "recipe": RECIPE, "batch": "B1", "zones": "back 0.14 m2; wings 0.12 m2; base 0.08 m2"}
    form |= {"thermometer": "contact °C", "air": "19 °C", "humidity": "55 %", "tool": "brush"}
    sheet = work.start_work(studio, work_forms.work_form(form))
    steps = finishes.recipe_sheet(studio, RECIPE).recipe.steps
    work.move_to(studio, sheet.row.id, step=1 + next(n for n, s in enumerate(steps) if s.do == "apply"))
    await person.press("2")
    await person.until(lambda: person.app.screen.WHERE == "bench" and person.app.screen.sheet is not None, 15)
    await person.press("w")
    await _screen(person, "Choose")
    await person.press("enter")
    await _screen(person, "Torch")
    await person.press("t", *"91", "enter")
    await _still(person)
    await person.press("space")
    await _still(person)
    await person.press("space")
    await _still(person)


async def _casts(person: Driver) -> None:
    await _at(person, "4", "casts", casts.list_casts(person.app.studio)[0].id)


async def _treatment(person: Driver) -> None:
    await _at(person, "4", "casts", "CT1")
    await person.press("w")
    await _screen(person, "Treatment")
    await person.press("down", "down", "down")
    await _still(person)


async def _condition_map(person: Driver) -> None:
    await _treatment(person)
    await person.press("m")
    await _screen(person, "Choose")
    await person.press("enter")
    await _screen(person, "TreatmentMap")
    await person.press("tab")
    await _still(person)


async def _shelf(person: Driver) -> None:
    await _at(person, "5", "shelf")


PICTURES: dict[str, Callable[[Driver], Awaitable[None]]] = {
    "finishes": _finishes,
    "safety": _safety,
    "mixing": _mixing,
    "tiles": _tiles,
    "photograph": _photograph,
    "reading": _reading,
    "comparison": _comparison,
    "casts": _casts,
    "treatment": _treatment,
    "condition-map": _condition_map,
    "shelf": _shelf,
    "torch": _torch,
}


async def draw(studio: Studio, name: str, language: str = "en") -> Path:
    """Drive the screens to one of PICTURES and write it. Raises ValueError where it came out too large."""
    studio.set_setting("language", language)
    async with Running(studio, SIZE) as person:
        await PICTURES[name](person)
        svg = indented(without_addresses(person.app.export_screenshot(title="patina")))
    if name in ("photograph", "condition-map"):
        svg = flat(svg)
    if len(svg.encode()) > MOST_BYTES:
        raise ValueError(f"{name}: {len(svg.encode())} bytes")
    path = (OUT if language == "en" else OUT / language) / f"{name}.svg"
    path.parent.mkdir(exist_ok=True)
    path.write_text(svg, "utf-8")
    return path


def main(words: list[str]) -> None:
    """Draw the named pictures, or all that are shown in that language."""
    language, *names = words if words and words[0] in LANGUAGES else ["en", *words]
    shown = [n for one in topics(language) for n in re.findall(r"\(pictures/([\w-]+)\.svg\)", one.text)]
    with tempfile.TemporaryDirectory() as folder, open_studio(make_demo(Path(folder) / "demo")) as studio:
        for name in names or (list(PICTURES) if language == "en" else shown):
            print(asyncio.run(draw(studio, name, language)).relative_to(ROOT))


if __name__ == "__main__":
    main(sys.argv[1:])
