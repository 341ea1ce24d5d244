"""No command tells a client or an assistant a quantity that is withheld; safety notes are told to everybody."""

from __future__ import annotations

import io
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest
from secret_studio import ASSISTANT, CLIENT, CONSERVATOR, HEAD, PATINEUR, SECRETS, fill, leaks

from patina.bench.studio import open_studio
from patina.cli import COMMANDS, main


class Ran(NamedTuple):
    """How a command ended, and all that it wrote: both streams and files."""

    code: int
    out: str
    err: str

    @property
    def all(self) -> str:
        """Everything that was said."""
        return self.out + self.err


Run = Callable[..., Ran]
# the words behind each command; OUT is a new folder. What opens screens, serves them, waits for somebody or takes in
# files of the caller's own tells nothing of the studio.
WORDS = [
    "air R1 --area 0.8m2 --room 60m3 --changes 6",
    "archive R1 OUT/r.zip",
    "archive C1 OUT/c.zip",
    "archive all OUT/all.zip",
    "agree show M1",
    "agree due",
    "approve C1 --page OUT/approve.html",
    "amend R1 --why x words",
    "backup OUT/backup.zip",
    "bill J1 OUT/bill.csv",
    "care",
    "chart list",
    "check",
    "compare T1 M1",
    "dangers",
    "drafts list",
    "drafts show RD1",
    "export recipe R1",
    "export linked-art C1",
    "export linked-art W1",
    "export spectrum C1",
    "salvage OUT/none OUT/new",
    "exposure list",
    "exposure export OUT/exposure.csv",
    "give R1 --to Me --terms all --file OUT/r.toml",
    "give C1 --to Me --file OUT/owner.html --show quantities",
    "given",
    "history R1",
    "history T1",
    "history C1",
    "history",
    "judge M1 T1",
    "list recipes",
    "list tiles",
    "list casts",
    "list masters",
    "list lots",
    "list batches",
    "list works",
    "list exposures",
    "list substances",
    "match 30,5,6",
    "match M1",
    "mix R1 --area 0.8m2",
    "mix R1 --volume 2L --sheet OUT/mix.html",
    "note T1 blast=new",
    "owner C1 --show quantities",
    "owner C1 --show quantities --sheet OUT/sheet.html",
    "owner-care C1",
    "people list",
    "people me",
    "people roles",
    "people grant-sql",
    "placard T1 OUT/placard.pdf",
    "predict T1",
    "print batch B1 OUT/batch.html",
    "print cast C1 OUT/cast.html",
    "print owner C1 OUT/owner.html",
    "print wall OUT/wall.svg",
    "print tile T1 OUT/tile.html",
    "print safety R1 OUT/safety.html",
    "print series W1 OUT/series.html",
    "print label B1 OUT/label.svg",
    "release show R1",
    "reproduce T1",
    "reproduce C1 --area 0.8m2",
    "safety R1",
    "safety R1 --ph ferric=1.8",
    "seal C1",
    "seal R1 --show",
    "series W1",
    "setting",
    "strength '2 spoons' 'ferric nitrate'",
    "substance show ammonia",
    "substance stale",
    "thresholds R1 ferric 'ferric nitrate'",
    "transfer-list",
    "transfer-list --sheet OUT/transfer.html",
    "treatment list",
    "undo",
    "variation W1",
    "withdraw D1 --why x",
    "withheld",
    "withhold R1 --why x --end",
    "back GV1",
    "lines",
    "photographs",
    "reread OUT",
    "journal list",
    "help recipes",
    "area enlarge --area 0.062m2 --from 450mm --to 1800mm",
    "import OUT/none.toml",
    "restore OUT/none.zip",
    "read OUT/none.png",
    "change OUT/a.png OUT/b.png",
    "reconstruct OUT/card.txt --target 30,5,6",
    "bring OUT/none.csv",
    "bring-photographs OUT",
    "waste list",
]
DRAWN = (".svg", ".pdf", ".png")  # full of the figures of their own lines
APART = {"demo": "makes a studio of its own", "serve": "waits for a browser"}


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a studio with people, a withheld recipe and a text that waits."""
    folder = tmp_path_factory.mktemp("secret")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CONFIG_HOME", str(folder / "config"))
        with open_studio(folder / "studio") as studio:
            fill(studio, folder)
    return folder / "studio"


@pytest.fixture
def run(filled: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Runs a command as somebody on a copy of the studio; files that it writes count as said."""
    shutil.copytree(filled, tmp_path / "studio")
    monkeypatch.setenv("PATINA_STUDIO", str(tmp_path / "studio"))
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "config"))
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    out = tmp_path / "out"
    out.mkdir()

    def _run(who: str, words: str, *more: str) -> Ran:
        import shlex

        monkeypatch.setattr("sys.stdin", io.StringIO("1\nR1\nr\nq\n"))
        with pytest.raises(SystemExit) as leaving:
            main(["--as", who, *shlex.split(words.replace("OUT", str(out))), *more])
        captured = capsys.readouterr()
        texts = [p for p in sorted(out.rglob("*")) if p.is_file() and p.suffix not in DRAWN]
        written = "\n".join(p.read_text("utf-8", "replace") for p in texts)
        return Ran(int(leaving.value.code or 0), captured.out + written, captured.err)

    return _run


def test_every_command_is_walked() -> None:
    """A new command must be walked too, or it is said why it tells nothing."""
    walked = {words.split()[0] for words in WORDS}
    assert walked | set(APART) == set(COMMANDS)


@pytest.mark.parametrize("who", [CLIENT, ASSISTANT])
def test_no_command_tells_a_withheld_quantity(run: Run, who: str) -> None:
    """As client view and as assistant, no command says a secret figure, in words or as JSON; none breaks."""
    told: dict[str, object] = {}
    done = 0
    for words in WORDS:
        for more in ((), ("--json",)) if who == CLIENT else (("--json",),):
            ran = run(who, words, *more)
            if leaks(ran.all):
                told[f"{words} {' '.join(more)}"] = leaks(ran.all)
            if ran.code not in (0, 2):
                told[words] = ran.err[-300:]
            done += ran.code == 0
    assert not told
    assert done > len(WORDS) / 2


def test_safety_is_told_to_everybody(run: Run) -> None:
    """Classes, dangers, gases and advice of a withheld recipe are the same for a client as for the head."""
    mine, whole = (json.loads(run(who, "safety R1", "--json").out) for who in (CLIENT, HEAD))
    for one, other in zip(mine["solutions"], whole["solutions"], strict=True):
        assert [c["h"] for c in one["classes"]] == [c["h"] for c in other["classes"]]
        assert one["pictograms"] == other["pictograms"]
        assert one["shares_pct_ww"] == []
    for key in ("dangers", "emits", "ppe", "place"):
        assert mine[key] == whole[key] != []
    assert all(one["shares_pct_ww"] for one in whole["solutions"])


def test_head_and_patineur_see_it_all(run: Run) -> None:
    """Nothing is left out for those whose role sees everything: else the walk above would prove nothing."""
    for who in (HEAD, PATINEUR):
        assert {"7.31", "2.83", "43.7", "61.9", "93.75"} <= set(leaks(run(who, "export recipe R1").out))
        assert leaks(run(who, "mix R1 --area 0.8m2").out)
        assert leaks(run(who, "history R1", "--json").out)
    assert set(SECRETS)


def test_opened_to_somebody_it_is_told_to_that_one(run: Run) -> None:
    """A recipe may be open to a person by name, or to a role."""
    assert run(CONSERVATOR, "export recipe R1").code == 2
    assert run(HEAD, f"withhold R1 --why repair --open-to '{CONSERVATOR}'").code == 0
    assert leaks(run(CONSERVATOR, "export recipe R1").out)
    assert run(ASSISTANT, "export recipe R1").code == 2
    assert run(HEAD, "withhold R1 --why done --end").code == 0
    assert leaks(run(CLIENT, "export recipe R1").out)


def test_one_revision_alone_can_be_withheld(run: Run) -> None:
    """The first revision is shown and the second withheld."""
    assert run(HEAD, "withhold R1 --why published --end").code == 0
    assert run(HEAD, "withhold R1 --why new --revision 2").code == 0
    assert run(CLIENT, "export recipe R1").code == 2
    with open_studio() as studio:
        studio.store.identity.name = CLIENT
        from patina.bench.recipes.finishes import recipe_sheet

        assert not recipe_sheet(studio, "R1", 1).withheld
        assert recipe_sheet(studio, "R1", 2).withheld
