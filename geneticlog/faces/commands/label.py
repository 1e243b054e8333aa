"""``geneticlog label``: print vial labels, print a smeared one again, void a spoiled one, look over the stocks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from geneticlog.errors import GeneticlogError, Refused
from geneticlog.faces.app.desk import Desk, ShowCommand, say_table
from geneticlog.faces.app.groups import DeskGroup
from geneticlog.faces.app.options import all_of
from geneticlog.faces.app.progress import progress
from geneticlog.rules.sentences import n_of
from geneticlog.settings import STOCKS_VARIABLE

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from geneticlog.rules.label.label_stock import Stock
    from geneticlog.work.label.print_labels import Labels

Write = Callable[[Path, bytes], None]
DEFAULT_STOCK = "letter-wrap"
MOST_ROUNDS = 6  # of setting labels whose codes another program took meanwhile

STOCKS_FILE = click.option(
    "--stocks",
    "stocks_file",
    type=click.Path(path_type=Path),
    envvar=STOCKS_VARIABLE,
    help=f"TOML file of your own stocks (default: {STOCKS_VARIABLE}).",
)
CALIBRATED = all_of(
    click.option("--offset-x", type=float, metavar="MM", help="Move the slots right (negative: left)."),
    click.option("--offset-y", type=float, metavar="MM", help="Move the slots down (negative: up)."),
    click.option(
        "--measured-x",
        type=float,
        metavar="MM",
        help="Measured length of the horizontal 100 mm ruler.",
    ),
    click.option(
        "--measured-y", type=float, metavar="MM", help="Measured length of the vertical 100 mm ruler."
    ),
)
INTO = all_of(
    click.option(
        "--start-slot", type=int, default=1, show_default=True, help="First free slot of the sheet."
    ),
    click.option("--out", type=click.Path(path_type=Path, dir_okay=False), help="The PDF to write."),
    click.option("--replace", is_flag=True, help="Overwrite an existing file."),
)


@click.group(
    cls=DeskGroup, other_names={"add": "print", "remove": "void"}, elsewhere={"list": "label stocks"}
)
def label() -> None:
    """Print vial labels, print smeared ones again, void spoiled ones."""


@label.command("print", cls=ShowCommand)
@click.option("-n", "--number", "n_labels", type=int, help="How many labels.")
@click.option("--stock", "stock_name", default=DEFAULT_STOCK, show_default=True, help="See: label stocks.")
@click.option("--survey", help="The survey they are for: lake and year go in the corner.")
@click.option("--office", help="Office whose codes to use, where there are several.")
@click.option(
    "--wrap-and-cap/--wrap-only", default=None,
    help="A cap dot with the same code for every wrap (default: where the stock has dots beside its wraps).",
)  # fmt: skip
@click.option("--cap-stock", help="Where the dots go when the stock has none beside its wraps.")
@click.option("--cap-start-slot", type=int, default=1, show_default=True)
@click.option("--calibration", is_flag=True, help="Only a page of rulers and outlines for this stock.")
@INTO
@CALIBRATED
@STOCKS_FILE
@click.pass_obj
def print_(
    desk: Desk,
    /,
    n_labels: int | None,
    stock_name: str,
    survey: str | None,
    office: str | None,
    wrap_and_cap: bool | None,
    cap_stock: str | None,
    cap_start_slot: int,
    calibration: bool,
    start_slot: int,
    out: Path | None,
    replace: bool,
    stocks_file: Path | None,
    **measured: float | None,
) -> None:
    """Mint new codes and set their labels as a PDF, to be printed at 100 %.

    The codes are stored as a print run together with the file, or neither is.
    """
    from geneticlog.faces.label.labels import label_pdf
    from geneticlog.work.label.print_labels import LabelSheet, next_labels, print_labels

    stock = _stock(desk, stock_name, stocks_file, measured)
    if calibration:
        _calibrate(desk, stock, _target(out, Path(f"calibration-{stock.name}.pdf"), replace))
        return
    if n_labels is None:
        raise click.UsageError("say how many labels: -n 60")
    if wrap_and_cap is None:
        wrap_and_cap = stock.content == "both"
    dots = _dots(desk, stock, wrap_and_cap, cap_stock, stocks_file)
    content = "both" if wrap_and_cap else stock.content if stock.content != "both" else "wrap"
    sheet = LabelSheet(stock.name, content, start_slot)

    def look(session: Session) -> Labels:
        return next_labels(session, n_labels, survey=survey, office=office)

    def store(session: Session, ready: Labels) -> Labels:
        return print_labels(
            session, n_labels, sheet, survey=survey, office=office, stamp=desk.stamp(), ready=ready
        )

    def typeset(labels: Labels, write: Write) -> list[Path]:
        target = _target(out, Path(f"labels-run-{labels.run}.pdf"), replace)
        note = f"Print run {labels.run} · {labels.codes[0]} to {labels.codes[-1]} · print at 100 %, not fit to page"
        corner, files = labels.corners, [target]
        with progress(desk, "Step 1 of 3: drawing symbols") as step:
            pdf = label_pdf(
                stock,
                labels.codes,
                corner=corner,
                start_slot=start_slot,
                caps=wrap_and_cap,
                note=note,
                progress=step,
            )
            write(target, pdf)
            if dots:
                files.append(_target(None, target.with_name(f"{target.stem}-caps.pdf"), replace))
                note += " · cap dots"
                pdf = label_pdf(dots, labels.codes, start_slot=cap_start_slot, note=note, progress=step)
                write(files[-1], pdf)
        return files

    labels, files = _typeset_then_store(desk, look, store, typeset)
    next_slot = (start_slot - 1 + n_labels) % stock.slots_a_page + 1
    document = {
        "print_run": labels.run,
        "office": labels.office,
        "survey": labels.survey,
        "stock": stock.name,
        "n_labels": n_labels,
        "start_slot": start_slot,
        "next_slot": next_slot,
        "vials": labels.codes,
        "files": files,
    }
    desk.show(document, lambda: _say_printed(document, stock, without_dots=not wrap_and_cap))


def _calibrate(desk: Desk, stock: Stock, target: Path) -> None:
    from geneticlog.faces.label.labels import calibration_pdf

    with _files() as write:
        write(target, calibration_pdf(stock))
    document = {"stock": stock.name, "files": [target]}
    desk.show(document, lambda: click.echo(f"{target}: print it at 100 % and measure its rulers."))


def _say_printed(printed: Mapping[str, Any], stock: Stock, *, without_dots: bool) -> None:
    codes, survey, next_slot = printed["vials"], printed["survey"], printed["next_slot"]
    click.echo(
        f"Print run {printed['print_run']}: {n_of(printed['n_labels'], 'label')} of office {printed['office']},"
        f" {codes[0]} to {codes[-1]}, on {stock.name}{f', for survey {survey}' if survey else ''}."
    )
    for file in printed["files"]:
        click.echo(f"{file}: print it at 100 %, not fit to page; scan one label before you print the rest.")
    if stock.content == "both" and without_dots:
        click.echo("The cap dots beside the wraps stay blank (--wrap-only).")
    if stock.kind == "sheet" and next_slot > 1:
        click.echo(f"The last sheet is free from slot {next_slot} on: --start-slot {next_slot}.")


@label.command(cls=ShowCommand)
@click.argument("vials", nargs=-1)
@click.option("--run", type=int, help="All labels of this print run that are not void.")
@click.option("--stock", "stock_name", help="Another stock than that of their print run.")
@INTO
@CALIBRATED
@STOCKS_FILE
@click.pass_obj
def reprint(
    desk: Desk,
    /,
    vials: tuple[str, ...],
    run: int | None,
    stock_name: str | None,
    start_slot: int,
    out: Path | None,
    replace: bool,
    stocks_file: Path | None,
    **measured: float | None,
) -> None:
    """Set labels again under the same codes: smeared ones, or dots for caps."""
    from geneticlog.faces.label.labels import label_pdf
    from geneticlog.work.label.print_labels import labels_again, reprint_labels, stock_of

    if not vials and run is None:
        raise click.UsageError("name the codes to print again, or a print run: --run 3")
    codes = codes_in(vials)
    with desk.reading() as session:
        name = stock_name or stock_of(session, codes, run=run) or DEFAULT_STOCK
    stock = _stock(desk, name, stocks_file, measured)

    def look(session: Session) -> Labels:
        return labels_again(session, codes, run=run)

    def store(session: Session, _ready: Labels) -> Labels:
        return reprint_labels(session, codes, run=run, stock=stock.name, stamp=desk.stamp())

    def typeset(labels: Labels, write: Write) -> list[Path]:
        target = _target(out, Path("labels-again.pdf"), replace)
        with progress(desk, "Step 1 of 3: drawing symbols") as step:
            pdf = label_pdf(stock, labels.codes, corner=labels.corners, start_slot=start_slot, progress=step)
        write(target, pdf)
        return [target]

    labels, (target,) = _typeset_then_store(desk, look, store, typeset)

    def say() -> None:
        click.echo(f"{_labels(len(labels.codes))} again on {stock.name}, with the codes they had.")
        click.echo(f"{target}: print it at 100 %, not fit to page; destroy the old labels.")

    desk.show({"stock": stock.name, "vials": labels.codes, "files": [target]}, say)


@label.command(cls=ShowCommand)
@click.argument("vials", nargs=-1)
@click.option("--run", type=int, help="All labels of this print run that are still free.")
@click.option("--why", required=True, help="The reason, for the record.")
@click.pass_obj
def void(desk: Desk, vials: tuple[str, ...], run: int | None, why: str) -> None:
    """Make free labels void; their codes are never used again."""
    from geneticlog.rules.vialcode import printed
    from geneticlog.work.label.print_labels import void_labels

    if not vials and run is None:
        raise click.UsageError("name the codes, or a print run: --run 3")
    with desk.writing() as session:
        codes = void_labels(session, codes_in(vials), run=run, why=why, stamp=desk.stamp())

    def say() -> None:
        shown = ", ".join(printed(code) for code in codes[:12]) + (", …" if len(codes) > 12 else "")
        click.echo(f"{_labels(len(codes))} void ({why.strip()}): {shown}.")

    desk.show({"vials": codes, "why": why.strip()}, say)


@label.command(cls=ShowCommand)
@STOCKS_FILE
@click.pass_obj
def stocks(desk: Desk, stocks_file: Path | None) -> None:
    """List the label stocks and check each: page, label, printer dots, vial."""
    from geneticlog.faces.label.labels import doubts_of
    from geneticlog.faces.label.stocks import load_stocks

    listed = [(stock, doubts_of(stock)) for stock in load_stocks(stocks_file).values()]

    def say() -> None:
        rows: list[Sequence[Any]] = []
        remarks: dict[str, int] = {}
        for stock, doubts in listed:
            seen = [remarks.setdefault(d.sentence, len(remarks) + 1) for d in doubts]
            standing = "refused" if any(d.refused for d in doubts) else "see" if doubts else "sound"
            checks = " ".join([standing, *map(str, seen)])
            per = f"{stock.slots_a_page} a {'sheet' if stock.kind == 'sheet' else 'row'}"
            rows.append((stock.name, stock.about, per, f"{stock.module_mm:.3f}", checks))
        say_table(("stock", "what it is", "labels", "module mm", "checks"), rows, numbers=("module mm",))
        for remark, number in remarks.items():
            click.echo(f"{number}  {remark}")

    desk.show(
        {
            "stocks": [
                {
                    "stock": stock.name,
                    "about": stock.about,
                    "content": stock.content,
                    "labels_a_page": stock.slots_a_page,
                    "dpi": stock.dpi,
                    "dots_per_module": stock.dots,
                    "module_mm": stock.module_mm,
                    "refused": any(doubt.refused for doubt in doubts),
                    "doubts": doubts,
                }
                for stock, doubts in listed
            ]
        },
        say,
    )


def codes_in(words: Sequence[str]) -> list[str]:
    """Return the codes in words of a command line: a code copied with its spaces is several words."""
    codes, pending = [], ""
    for word in words:
        pending += word
        if len(pending.replace(" ", "").replace("-", "")) >= 9:
            codes.append(pending)
            pending = ""
    return [*codes, pending] if pending else codes


def _labels(n: int) -> str:
    return f"{n} label{'' if n == 1 else 's'}"


def _stock(desk: Desk, name: str, file: Path | None, measured: dict[str, float | None]) -> Stock:
    """Return a stock, calibrated as asked, its warnings said."""
    from dataclasses import replace

    from geneticlog.faces.label.labels import refuse_unsound
    from geneticlog.faces.label.stocks import load_stocks, stock_named
    from geneticlog.rules.label.stock_checks import check

    stock = stock_named(name, load_stocks(file))
    changes: dict[str, Any] = {}
    for axis in ("x", "y"):
        if (offset := measured.get(f"offset_{axis}")) is not None:
            changes[f"offset_{axis}_mm"] = offset
        if (ruler := measured.get(f"measured_{axis}")) is not None:
            if stock.kind == "roll":
                raise Refused(
                    f"label stock {name} is a roll, and a roll is not scaled; set its printer's speed and pitch"
                )
            if not 90 <= ruler <= 110:
                raise Refused(
                    f"{ruler:g} mm is not a length that a 100 mm ruler can have; check that nothing scales the page"
                )
            changes[f"scale_{axis}"] = 100 / ruler
    stock = replace(stock, **changes)
    refuse_unsound(stock)
    for doubt in check(stock):
        desk.note(f"label stock {stock.name}, {doubt.sentence}")
    return stock


def _dots(desk: Desk, stock: Stock, wanted: bool, cap_stock: str | None, file: Path | None) -> Stock | None:
    """Return the stock for cap dots that go on sheets of their own, or None."""
    if stock.content == "cap":
        raise Refused(
            f"{stock.name} has cap dots alone, and a dot is never the only label of a vial; print wraps with"
            " --wrap-and-cap, or dots for codes that are there with: geneticlog label reprint --run N --stock"
            f" {stock.name}"
        )
    if not wanted or (stock.content == "both" and not cap_stock):
        return None
    if not cap_stock:
        raise Refused(
            f"{stock.name} has no dots beside its wraps; say where the cap dots go, such as --cap-stock letter-caps,"
            " or take a stock that has both"
        )
    dots = _stock(desk, cap_stock, file, {})
    if dots.content != "cap":
        raise Refused(f"{cap_stock} is not a stock of cap dots; see: geneticlog label stocks")
    return dots


def _target(out: Path | None, otherwise: Path, replace: bool) -> Path:
    from geneticlog.store.placed_together import finish_left

    target = out or otherwise
    finish_left(target.parent)
    if target.exists() and not replace:
        raise Refused(
            f"{target} is there already; choose another name with --out, or overwrite it with --replace"
        )
    return target


class _TakenMeanwhile(Exception):
    """Ends a transaction that would store other labels than those that are set."""


def _typeset_then_store(
    desk: Desk,
    look: Callable[[Session], Labels],
    store: Callable[[Session, Labels], Labels],
    typeset: Callable[[Labels, Write], list[Path]],
) -> tuple[Labels, list[Path]]:
    """Set labels while nobody waits for the database, then store them with their files, or neither.

    The labels are looked at ahead and set; where another program has taken the codes meanwhile, the next ones are set.
    """
    for _ in range(MOST_ROUNDS):
        with desk.reading() as session:
            expected = look(session)
        with suppress(_TakenMeanwhile):
            with _files() as write:
                files = typeset(expected, write)
                with desk.writing() as session:
                    if store(session, expected) != expected:
                        raise _TakenMeanwhile
            return expected, files
    raise Refused("other programs print labels all the time; nothing was stored; run this again in a moment")


@contextmanager
def _files() -> Iterator[Write]:
    """Write files whole beside their places, which they take when the block has ended well, else none is left.

    Around the transaction: codes are stored with their labels, or neither is there.
    """
    from geneticlog.store.placed_together import Together, together
    from geneticlog.store.writing import require_folder

    rooms: dict[Path, Together] = {}
    with ExitStack() as open_rooms:

        def write(target: Path, content: bytes) -> None:
            require_folder(target)
            folder = target.parent
            try:
                if folder not in rooms:
                    rooms[folder] = open_rooms.enter_context(together(folder))
                rooms[folder].add(target.name, content)
            except OSError as fault:
                why = (fault.strerror or str(fault)).lower()
                raise GeneticlogError(
                    f"{target} cannot be written ({why}), and nothing was stored; choose another place with --out"
                ) from fault

        yield write
        for waiting in rooms.values():
            with waiting.turn():
                waiting.place()
