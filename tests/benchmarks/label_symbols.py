"""Symbols of many codes against the library that draws one: the same choice of mask, and how long both take.

python tests/benchmarks/label_symbols.py [CODES=10000] [--write]
"""

from __future__ import annotations

import random
import sys
import tempfile
import time
from pathlib import Path

from results import save

from geneticlog.faces.label.labels import symbols_svg
from geneticlog.faces.label.symbols import symbols_of


def library_matrix(code: str) -> list[list[bool]]:
    import qrcode

    symbol = qrcode.QRCode(version=1, error_correction=qrcode.constants.ERROR_CORRECT_H, border=0)
    symbol.add_data(qrcode.util.QRData(code, mode=2), optimize=0)
    symbol.make(fit=False)
    return symbol.get_matrix()


def labels_with_everything(n: int) -> float:
    """Seconds of the processor for `geneticlog label print -n N`, database and PDF included, the program loaded."""
    from click.testing import CliRunner

    from geneticlog.faces.app.cli import cli

    folder = Path(tempfile.mkdtemp())
    database = str(folder / "labels.sqlite")
    run = CliRunner().invoke
    first = ["label", "print", "-n", "2", "--out", str(folder / "first.pdf")]
    for words in (["database", "upgrade"], ["office", "add", "TH", "--name", "Invented"], first):
        assert run(cli, [*words, "--database", database]).exit_code == 0
    start = time.process_time()
    done = run(
        cli, ["label", "print", "-n", str(n), "--out", str(folder / "many.pdf"), "--database", database]
    )
    assert done.exit_code == 0, done.output
    return time.process_time() - start


def held_for(n: int) -> tuple[float, float]:
    """Seconds that `label print -n N` holds the database, and seconds in all, by the clock."""
    from collections.abc import Iterator
    from contextlib import contextmanager

    from geneticlog.faces.app.desk import Desk

    held = 0.0
    writing = Desk.writing

    @contextmanager
    def timed(self: Desk) -> Iterator[object]:
        nonlocal held
        start = time.perf_counter()
        try:
            with writing(self) as session:
                yield session
        finally:
            held += time.perf_counter() - start

    Desk.writing = timed  # type: ignore[method-assign,assignment]
    try:
        start = time.perf_counter()
        labels_with_everything(n)
        return held, time.perf_counter() - start
    finally:
        Desk.writing = writing  # type: ignore[method-assign]


def main() -> None:
    n = next((int(word) for word in sys.argv[1:] if word.isdigit()), 10_000)
    drawn = random.Random(7)
    codes = list({"".join(drawn.choices("0123456789ABCDEFGHJKMNPQRSTVWXYZ", k=9)) for _ in range(n)})
    other = sum(
        symbol.tolist() != library_matrix(code) for code, symbol in zip(codes, symbols_of(codes), strict=True)
    )
    thousand = codes[:1000]
    start = time.process_time()
    for code in thousand:
        library_matrix(code)
    library = time.process_time() - start
    start = time.process_time()
    symbols_svg(thousand)
    ours = time.process_time() - start
    whole = labels_with_everything(1000)
    held, of = held_for(20_000)
    save(
        "labels",
        [
            f"Codes compared with the library's own choice of mask: {len(codes):,}; different: {other}.",
            "",
            "| 1,000 labels | CPU seconds | against the library's symbols |",
            "|---|---|---|",
            f"| the library's symbols alone | {library:.2f} | 1 |",
            f"| our symbols, as SVG | {ours:.2f} | {ours / library:.2f} |",
            f"| label print -n 1000: codes, database and PDF | {whole:.2f} | {whole / library:.2f} |",
            "",
            f"20,000 labels: {of:.0f} s by the clock on a machine with other work, the database held for {held:.1f} s"
            " of them, in two goes (a look ahead, then the codes with their print run).",
        ],
    )


if __name__ == "__main__":
    main()
