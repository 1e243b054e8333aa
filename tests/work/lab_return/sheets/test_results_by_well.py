"""Results that go by wells: held against our own plate map after one question, or by the lab's map of our codes."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from typing import Any

import openpyxl
import pytest
from return_generator import Sheet, write
from return_support import MOMENT, a_shipment, as_stored, csv_file
from sqlalchemy import select
from sqlalchemy.orm import Session

from geneticlog.errors import Refused, SheetFault
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.tables import Result, Shipment, ShipmentPosition, Vial
from geneticlog.work.lab_return.read_return import LabFile, read_return
from geneticlog.work.lab_return.several_shipments import read_for_shipments

N = 14
WELLS = [f"{'ABCDEFGH'[i % 8]}{i // 8 + 1:02d}" for i in range(96)]  # down the columns
OURS = Layout(wells="ours")
Rows = list[list[Any]]


def alleles(i: int) -> int:
    return (23 * i * i + 5 * i + 2) % 77  # no series of one step


def q(i: int) -> str:
    return f"{alleles(i) / 76:.4f}"


def listed(n: int = N, short: bool = False) -> Rows:
    """A row for each well: well, share, loci."""
    names = [name.replace("0", "") if short else name for name in WELLS[:n]]
    return [["Well", "Florida proportion", "Loci scored"], *[[w, q(i), 38] for i, w in enumerate(names)]]


def grid(title: str, value: Callable[[int], Any], n: int = N, corner: str = "") -> Rows:
    """A plate of 8 x 12 below its title."""
    return [
        [title], [corner, *range(1, 13)],
        *[[letter, *[value(8 * c + r) if 8 * c + r < n else "" for c in range(12)]]
          for r, letter in enumerate("ABCDEFGH")],
    ]  # fmt: skip


@pytest.fixture
def plated(sqlite_session: Session) -> tuple[Session, list[str]]:
    """A shipment of 14 vials in the first wells of a plate."""
    session = sqlite_session
    codes = a_shipment(session, N)
    session.scalars(select(Shipment)).one().container = "plate96"
    for at, name in zip(session.scalars(select(ShipmentPosition)), WELLS, strict=False):
        at.position = name
    session.commit()
    return session, codes


def typed(session: Session, content: bytes, name: str, layout: Layout | None = None) -> dict[str, Any]:
    """The q and loci of each vial, as stored; nothing stays."""
    read_return(session, LabFile(content, name), "SH-1", stamp=Stamp(MOMENT, "Ada"), layout=layout)
    rows = session.execute(select(Vial.code, Result.q, Result.n_loci).join(Result, Result.vial_id == Vial.id))
    found = {code: (share, loci) for code, share, loci in rows}
    session.rollback()
    return found


def wanted(codes: list[str], loci: int | None = 38) -> dict[str, Any]:
    return {code: (pytest.approx(alleles(i) / 76, abs=6e-5), loci) for i, code in enumerate(codes)}


def book(*sheets: tuple[str, Rows]) -> bytes:
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets:
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append([None if cell == "" else cell for cell in row])
    out = io.BytesIO()
    workbook.save(out)
    return out.getvalue()


def plates() -> Rows:
    """Two plates on one sheet: shares, then loci."""
    return [["Quillback Genotyping"], *grid("Florida proportion", q), [], *grid("Loci scored", lambda i: 38)]


@pytest.mark.parametrize("kind", ["csv", "xlsx", "ods", "xls", "html"])
@pytest.mark.parametrize("make", [listed, plates])
def test_wells_are_ours_after_one_question(
    plated: tuple[Session, list[str]], make: Callable[[], Rows], kind: str
) -> None:
    session, codes = plated
    content, name = write(Sheet(make()), kind)
    with pytest.raises(
        SheetFault, match=r"14 wells, 14 of them among the 14 in which we sent.*say --wells ours"
    ):
        typed(session, content, name)
    session.rollback()
    assert typed(session, content, name, OURS) == wanted(codes)


def test_the_column_of_wells_may_be_named_as_that_of_the_vials(plated: tuple[Session, list[str]]) -> None:
    session, codes = plated
    content, name = write(Sheet(listed(short=True)), "csv")
    assert typed(session, content, name, Layout(columns={"vial": "Well"})) == wanted(codes)


def test_a_result_in_a_well_that_we_left_empty_is_a_finding(plated: tuple[Session, list[str]]) -> None:
    session, _ = plated
    content, name = write(Sheet(listed(N + 1)), "csv")
    read = read_return(session, LabFile(content, name), "SH-1", stamp=Stamp(MOMENT, "Ada"), layout=OURS)
    assert (read.n_typed, read.n_unexpected) == (N, 1)
    of_wells = [text for _, kind, text in read.findings if kind != "identical_run"]  # its q rise by one step
    assert of_wells == ["Row 16 holds a result and no vial code (Well: G02)."]


def test_the_lab_s_own_map_of_our_codes_needs_no_question(plated: tuple[Session, list[str]]) -> None:
    session, codes = plated
    turned = list(reversed(codes))  # the lab plated them anew
    there = grid("Plate map", lambda i: turned[i])
    on_two = book(("Samples", there), ("Results", listed()))
    assert typed(session, on_two, "two.xlsx") == wanted(turned)
    on_one = book(("Results", [*there, [], *grid("Florida proportion", lambda i: float(q(i)))]))
    assert typed(session, on_one, "one.xlsx") == wanted(turned, None)


def test_marks_go_with_their_wells_and_a_silent_plate_is_asked_about(
    plated: tuple[Session, list[str]],
) -> None:
    session, codes = plated
    content, name = write(Sheet(grid("Florida proportion", q), struck={(3, 1)}, hidden_rows={5}), "xlsx")
    with pytest.raises(SheetFault, match="samples are hidden \\(rows 602, 603\\)"):
        typed(session, content, name, OURS)
    session.rollback()
    layout = Layout(wells="ours", harmless=frozenset({"hidden rows"}))
    read = read_return(session, LabFile(content, name), "SH-1", stamp=Stamp(MOMENT, "Ada"), layout=layout)
    assert (read.n_typed, read.n_held) == (N - 1, 1)
    assert codes[1] in next(text for _, kind, text in read.findings if kind == "struck_out")
    session.rollback()
    content, name = write(Sheet(grid("", q)), "xlsx")
    with pytest.raises(SheetFault, match='say --column q="Value in each well"'):
        typed(session, content, name, OURS)
    session.rollback()
    named = Layout(wells="ours", columns={"q": "Value in each well"}, taxon_of_q="Florida")
    assert typed(session, content, name, named) == wanted(codes, None)


def test_wells_in_which_we_sent_no_vial_are_not_ours(plated: tuple[Session, list[str]]) -> None:
    session, codes = plated
    by_rows = [f"{'AB'[i // 12]}{i % 12 + 1}" for i in range(N)]
    rows = [["Well", "Florida proportion", "Loci scored"], *[[by_rows[i], q(i), 38] for i in range(N)]]
    with pytest.raises(SheetFault, match="10 of 14 results are in wells in which we sent no vial"):
        typed(session, *write(Sheet(rows), "csv"), OURS)
    session.rollback()
    plain_rows = [["Well", "Florida proportion", "Loci scored"], *[[WELLS[i], q(i), 38] for i in range(N)]]
    with_controls = [*plain_rows, ["H11", "0.5", 38], ["H12", "0.0", 38]]
    assert typed(session, *write(Sheet(with_controls), "csv"), OURS) == wanted(codes)


def test_wells_are_of_one_shipment(plated: tuple[Session, list[str]]) -> None:
    session, _ = plated
    a_shipment(session, 2, code="SH-2", first=500)
    lab = session.scalars(select(Shipment.lab_id)).first()
    for shipment in session.scalars(select(Shipment)):
        shipment.lab_id = lab or 0
    session.commit()
    content, name = write(Sheet(listed()), "csv")
    with pytest.raises(Refused, match="names wells and no vials"):
        read_for_shipments(
            session, LabFile(content, name), ("SH-1", "SH-2"), stamp=Stamp(MOMENT, "Ada"), layout=OURS
        )


def test_of_several_plates_the_file_has_to_say_which(plated: tuple[Session, list[str]]) -> None:
    session, codes = plated
    for i, at in enumerate(session.scalars(select(ShipmentPosition).order_by(ShipmentPosition.id))):
        at.container_number, at.position = 1 + i // 7, WELLS[i % 7]
    session.commit()
    rows = [["Well", "Florida proportion", "Loci scored"], *[[WELLS[i % 7], q(i), 38] for i in range(N)]]
    with pytest.raises(SheetFault, match="no column holds vial codes"):
        typed(session, *write(Sheet(rows), "csv"), OURS)
    session.rollback()
    with_plates = [
        [["Plate", *row] if i == 0 else [f"P{1 + (i - 1) // 7}", *row] for i, row in enumerate(rows)]
    ]
    assert typed(session, *write(Sheet(with_plates[0]), "csv"), OURS) == wanted(codes)
    by_sheet = book(*[(f"Plate {k}", [rows[0], *rows[1 + 7 * (k - 1) : 1 + 7 * k]]) for k in (1, 2)])
    assert typed(session, by_sheet, "two.xlsx", OURS) == wanted(codes)
    second = grid("Plate 2 Florida proportion", lambda i: q(i + 7), 7)
    titled = [*grid("Plate 1 Florida proportion", q, 7), [], *second]
    assert typed(session, *write(Sheet(titled), "xlsx"), OURS) == wanted(codes, None)


def test_two_vials_in_each_other_s_well_are_held_and_a_plate_of_the_lab_s_own_says_nothing(
    plated: tuple[Session, list[str]],
) -> None:
    session, codes = plated

    def held(wells: list[str]) -> list[str]:
        rows = [["Well", "Sample", "Florida proportion", "Loci scored"]]
        rows += [[well, code, q(i), "38"] for i, (well, code) in enumerate(zip(wells, codes, strict=False))]
        content, name = write(Sheet(rows), "csv")
        read_return(session, LabFile(content, name), "SH-1", stamp=Stamp(MOMENT, "Ada"))
        of_held = select(Vial.code).join(Result, Result.vial_id == Vial.id).where(Result.standing == "held")
        found = sorted(session.scalars(of_held))
        session.rollback()
        return found

    ours = WELLS[:N]
    assert held(ours) == []
    exchanged = [ours[1], ours[0], *ours[2:]]
    assert held(exchanged) == sorted(codes[:2])
    assert held([*ours[5:9], *ours[:5], *ours[9:][::-1]]) == []  # the lab dealt them anew
    with pytest.raises(SheetFault, match=r"those of other vials: they are 1 place on.*--hold"):
        held([*ours[1:], ours[0]])
    session.rollback()
    assert held([*ours[:5], *WELLS[6 : N + 1]]) == []  # the lab kept a well free for its control


def test_codes_that_moved_by_a_row_beside_our_wells_are_held(plated: tuple[Session, list[str]]) -> None:
    session, codes = plated
    moved = [*codes[:5], codes[4], *codes[5:-1]]
    rows = [["Well", "Sample", "Florida proportion", "Loci scored"]]
    rows += [[well, code, q(i), "38"] for i, (well, code) in enumerate(zip(WELLS, moved, strict=False))]
    read_return(session, LabFile(*write(Sheet(rows), "csv")), "SH-1", stamp=Stamp(MOMENT, "Ada"))
    stands = session.scalars(select(Vial.code).join(Result).where(Result.standing == "current"))
    assert sorted(stands) == codes[:4]


@pytest.mark.parametrize(
    ("order", "held"),
    [
        (range(N), []),
        (
            [*range(7), *range(13, 6, -1)],
            [7, 8, 9, 11, 12, 13],
        ),  # half of them turned round; 10 is in its own well
        ([*range(4, 8), *range(4), *range(N - 1, 7, -1)], []),  # a plate filled anew
        ([0, *range(2, N), 1], []),
    ],
)
def test_wells_that_are_ours_in_a_part_of_the_file_hold_the_rest(
    plated: tuple[Session, list[str]], order: Sequence[int], held: list[int]
) -> None:
    session, codes = plated

    def in_wells(order: Sequence[int]) -> LabFile:
        rows = [["Sample", "Well", "Florida proportion", "Loci scored"]]
        rows += [[code, WELLS[at], q(i), "38"] for i, (code, at) in enumerate(zip(codes, order, strict=True))]
        return LabFile(csv_file(rows), "wells.csv")

    with pytest.raises(SheetFault, match="those of other vials: they are the other way round"):
        read_return(session, in_wells(range(N - 1, -1, -1)), "SH-1", stamp=Stamp(MOMENT, "Ada"))
    read_return(session, in_wells(order), "SH-1", stamp=Stamp(MOMENT, "Ada"))
    stored = as_stored(session, codes)
    assert [i for i, share in stored.items() if share == "held"] == held
