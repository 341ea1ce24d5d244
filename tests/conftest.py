"""The records' tests run on both databases: every studio that a test opens is one on SQLite, then one on PostgreSQL.

A test opens folders as ever. For the second round each folder stands for a database of its own on a
server that is started once: what a copied folder holds in SQLite is carried over first. Tests of what
only a file can suffer or only a folder has say so: ``@pytest.mark.one_engine("sqlite", why="…")``.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from postgres_server import Databases, Server, can_run

ENGINES = ("sqlite", "postgresql") if can_run() else ("sqlite",)
# whose tests of deeds run on both; those of tests/records do so anyhow
BOTH = frozenset(
    {
        "test_deeds_batches",
        "test_deeds_casts",
        "test_deeds_finishes",
        "test_deeds_search",
        "test_deeds_shelf",
        "test_deeds_tiles",
        "test_exposure",
        "test_ageing_deed",
        "test_nearest_deed",
        "test_reconstruct_deed",
        "test_variation_deed",
        "test_approval_deed",
        "test_grain_kept",
        "test_reproduce_deed",
        "test_judge_deed",
        "test_release_deeds",
        "test_series_deed",
        "test_supply",
        "test_work_deeds",
        "test_work_heat_deeds",
    }
)
STUDIOS = frozenset({"studio", "full", "safe", "job"})


def pytest_configure(config: pytest.Config) -> None:
    """The mark of a test that belongs to one database."""
    config.addinivalue_line("markers", "one_engine(name, why): the test runs on that database alone, and why")


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Two rounds for each test of the records that opens a studio."""
    of_records = metafunc.definition.path.parent.name == "records"
    if "engine" in metafunc.fixturenames and (of_records or metafunc.module.__name__ in BOTH):
        mark = metafunc.definition.get_closest_marker("one_engine")
        wanted = STUDIOS & set(metafunc.fixturenames)
        engines = (mark.args[0],) if mark is not None else ENGINES if wanted else ("sqlite",)
        metafunc.parametrize("engine", engines, indirect=True)


@pytest.fixture(scope="session")
def demo_made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The invented studio, made once for each process of the test run; to be copied, not worked in."""
    from patina.demo.studio import make_demo

    return Path(make_demo(tmp_path_factory.mktemp("demo-made") / "studio"))


@pytest.fixture(scope="session")
def postgres() -> Iterator[Server]:
    """A PostgreSQL server, started once for each process of the test run."""
    if not can_run():
        pytest.skip("PostgreSQL's server programs are not installed")
    with Server() as server:
        yield server


@pytest.fixture(scope="session")
def databases(postgres: Server) -> Iterator[Databases]:
    """Databases made in a moment from templates."""
    made = Databases(postgres)
    yield made
    made.close()


@pytest.fixture(autouse=True)
def engine(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    """The database that the studios of this test lie in."""
    name = getattr(request, "param", "sqlite")
    if name == "postgresql":
        stand_in: Databases = request.getfixturevalue("databases")
        import patina.bench.studio

        monkeypatch.setattr(patina.bench.studio, "open_studio_store", stand_in.open)
        monkeypatch.setenv("XDG_DATA_HOME", str(request.getfixturevalue("tmp_path") / "data"))
        yield name
        stand_in.forget()
    else:
        yield name
