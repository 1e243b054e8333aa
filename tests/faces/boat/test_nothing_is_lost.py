"""Over kills and replays in any order: no vial on another fish, nothing acknowledged lost, nothing stored twice."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import pytest
from card_support import CODES, Boat, Crew, _short
from click.testing import CliRunner
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule, run_state_machine_as_test
from sqlalchemy import select, update
from sqlalchemy.orm import Session
from survey_support import prepared

from geneticlog.faces.app.cli import cli
from geneticlog.faces.app.desk import Desk
from geneticlog.faces.boat.logbook import Logbook
from geneticlog.rules.boat.logline import LogLine, LogLineError
from geneticlog.rules.boat.sitting import CardAsks, CardRefused, Sitting
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Fish, OpenCard, Survey
from geneticlog.work.boat.fish_doubts import FishRefused
from geneticlog.work.boat.logged import as_logged

N_VIALS = 60


class StoreBoat(Boat):
    """A boat whose lines go through the logbook into a database, as at the prompt."""

    def __init__(self, order: str, database: str) -> None:
        self.desk = Desk()
        self.desk.database, self.desk.named_by = database, "Ada Test"
        self.book = Logbook(self.desk, "HERON-2026")
        super().__init__(order)

    def __post_init__(self) -> None:
        pass

    @property
    def sitting(self) -> Sitting:  # type: ignore[override]
        return self.book.sitting

    def _type(self, text: str) -> None:
        try:
            if text in ("undo", "redo"):
                getattr(self.book, text)()
            elif text == "":
                self.book.close()
            else:
                self._take(self.book.read(text))
        except LogLineError as fault:
            self.refused.append(str(fault))
            self.book.refused(fault.shows)
        except (CardRefused, FishRefused) as fault:
            self.refused.append(str(fault))
            self.book.refused(frozenset())

    def _take(self, line: LogLine) -> None:
        answers: list[str] = []
        while True:
            try:
                self.book.take(line, answers)
                return
            except CardAsks as asks:
                self.asked.append(asks.question.text)
                answers.append(self.says.pop(0))

    def fish(self) -> list[tuple[str | None, float | None, float | None]]:
        with self.desk.reading() as session:
            survey = session.scalars(select(Survey)).one()
            found = [as_logged(survey, fish) for fish in session.scalars(select(Fish)).unique()]
        return [
            _short(LogLine(vial=(*one.vials, None)[0], length=one.length, weight=one.weight)) for one in found
        ]


class CrewAndStore(Crew):
    """The same crew, with a database under it; a flat battery ends the program between two lines."""

    template: Path

    def a_boat(self, order: str) -> Boat:
        self.folder = tempfile.TemporaryDirectory()
        file = Path(self.folder.name) / "log.sqlite"
        shutil.copy(self.template, file)
        prepared(str(file), n_vials=N_VIALS)
        engine = open_engine(database_url(str(file)))
        with Session(engine) as session:
            session.execute(update(Survey).values(order_of_work=order))
            session.commit()
        engine.dispose()
        self.floor = 0
        return StoreBoat(order, str(file))

    @property
    def store(self) -> StoreBoat:
        assert isinstance(self.boat, StoreBoat)
        return self.boat

    @rule()
    def battery_goes_flat(self) -> None:
        store = self.store
        store.book = Logbook(store.desk, "HERON-2026")
        if store.book.left:
            store.book.take_up(store.book.left[0])
        else:  # nothing was open: what is stored is stored, and this run has nothing to undo
            self.floor = len(self.fish)
            self.back.clear()

    @precondition(lambda self: len(self.fish) > self.floor)
    @rule()
    def undoes(self) -> None:
        super().undoes()

    def teardown(self) -> None:
        if hasattr(self, "boat"):
            with self.store.desk.reading() as session:
                assert len(session.scalars(select(OpenCard)).all()) <= 1
            self.store.desk.close()
            self.folder.cleanup()


def test_a_crew_sees_what_is_stored_over_kills_undos_and_slips(sqlite_template: Path) -> None:
    CrewAndStore.template = sqlite_template
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        CrewAndStore,
        settings=settings(max_examples=12, stateful_step_count=20, deadline=None, derandomize=True),
    )


FISH = st.lists(
    st.tuples(st.booleans(), st.sampled_from(["16.5", "12.5", "20", "9"]), st.sampled_from(["line", "lines"])),
    min_size=1, max_size=7,
)  # fmt: skip


@settings(
    max_examples=12,
    deadline=None,
    derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(
    fish=FISH,
    cuts=st.lists(st.integers(0, 14), max_size=2),
    order=st.sampled_from(["vial,length", "length,vial"]),
)
def test_a_log_killed_and_replayed_in_any_order_makes_the_crews_fish(
    fish: list[tuple[bool, str, str]],
    cuts: list[int],
    order: str,
    tmp_path_factory: pytest.TempPathFactory,
    sqlite_template: Path,
) -> None:
    folder = tmp_path_factory.mktemp("log")
    shutil.copy(sqlite_template, folder / "log.sqlite")
    database = str(folder / "log.sqlite")
    prepared(database, n_vials=N_VIALS)
    lines: list[str] = []
    truth = []
    for at, (swabbed, length, form) in enumerate(fish):
        code = CODES[at]
        parts = ([code, length] if order == "vial,length" else [length, code]) if swabbed else [length]
        lines += parts if form == "lines" else [" ".join(parts)]
        truth.append((code if swabbed else None, float(length), None))
    runs = [lines[: cut % (len(lines) + 1)] for cut in cuts]
    for log in (*runs, lines, *runs, lines):
        environment = {"GENETICLOG_DATABASE": database, "GENETICLOG_PERSON": "Ada Test"}
        arguments = ["fish", "log", "HERON-2026", "--order", order, "--mend", str(folder / "mend.txt")]
        result = CliRunner(env=environment).invoke(cli, arguments, input="\n".join(log) + "\n")
        assert result.exit_code in (0, 4), result.output
    boat = StoreBoat(order, database)
    assert sorted(map(str, boat.fish())) == sorted(map(str, truth))
    boat.desk.close()
