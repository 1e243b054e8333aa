"""Every page that the reports make, as pictures to look at: at desk, phone and paper size, in colour and in grey.

    python tests/benchmarks/every_page.py OUT [NAME …] [--lakes N]

NAME is a situation of tests/lake_situations.py, ``demo``, ``forty`` or ``many`` (default: all). Written for each:
NAME.html and .pdf, and under OUT/pictures NAME-desk.png, NAME-phone.png, NAME-grey.png and a picture of each paper page
(of the long list: of the first, a middle and the last). Prints the size and the fullness of the pages.
"""

from __future__ import annotations

import shutil
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pypdfium2
from click.testing import CliRunner
from portfolio import fill
from sqlalchemy.orm import Session

sys.path.insert(0, str(Path(__file__).parent.parent))
from browser_support import DESK, PHONE, opened, started, wider_than_the_screen
from lake_situations import STORIES
from lakes_support import NOW, add_lake
from paper_support import fullness

from geneticlog.faces.app.cli import cli
from geneticlog.faces.report.files import lake_contents, lakes_contents
from geneticlog.rules.stamp import Stamp
from geneticlog.store.engine import open_engine
from geneticlog.store.migrate import upgrade
from geneticlog.store.own_files import write_own
from geneticlog.work.portfolio.working_list import working_list
from geneticlog.work.report.gather import gather_lake

MOST_PICTURES = 12
OWNERS = ("Ash Estate", "Birch Ranch", "Cedar Club", "An owner with a rather long name and a partner")


def databases(out: Path, name: str) -> Iterator[Session]:
    file = out / f"{name}.sqlite"
    file.unlink(missing_ok=True)
    engine = open_engine(f"sqlite:///{file}", enforce_links=False)
    upgrade(engine)
    with Session(engine) as session:
        yield session
    engine.dispose()


def made(out: Path, name: str, n_lakes: int) -> list[Path]:
    """Make one report; returns its page and its paper."""
    if name == "demo":
        shutil.rmtree(out / "demo", ignore_errors=True)
        told = CliRunner().invoke(cli, ["demo", str(out / "demo")])
        assert told.exit_code == 0, told.output
        return [out / "demo" / "report" / f"heron.{kind}" for kind in ("html", "pdf")]
    (out / name).mkdir(exist_ok=True)
    for session in databases(out, name):
        if name in ("forty", "many"):
            return made_list(out / name, session, 26 if name == "forty" else n_lakes)
        situation = next(one for one in STORIES if one.__name__ == name)
        lake = add_lake(session, name.upper().replace("_", "-"), name.replace("_", " ").capitalize())
        situation(session, lake)
        session.commit()
        facts = gather_lake(session, lake.code, stamp=Stamp(NOW, "Ada Test"))
        return write_own(out / name, lake_contents(facts, paper="us-letter"), replace=True)[:2]
    raise AssertionError(name)


def made_list(folder: Path, session: Session, n_more: int) -> list[Path]:
    fill(session.get_bind(), n_more, 24)  # type: ignore[arg-type]
    for at, situation in enumerate(STORIES):
        situation(session, add_lake(session, f"S{at:02}", situation.__name__.replace("_", " ").capitalize(),
                                    owner=OWNERS[at % 4], county=f"County {at % 5}"))  # fmt: skip
    session.commit()
    today = NOW.date()
    listed = working_list(session, today=today)
    contents = lakes_contents(listed, stamp=Stamp(NOW, "Ada Test"), paper="us-letter")
    return write_own(folder, contents, replace=True)[:2]


def look(browser: Any, page_file: Path, pictures: Path, name: str) -> None:
    for size, words in ((DESK, "desk"), (PHONE, "phone")):
        with opened(browser, str(page_file), size) as page:
            if wider_than_the_screen(page):
                print(f"{name}: scrolls sideways on a {words}")
            page.screenshot(path=str(pictures / f"{name}-{words}.png"), full_page=True)


def look_at_paper(file: Path, pictures: Path, name: str) -> None:
    pdf = pypdfium2.PdfDocument(file)
    n = len(pdf)
    shown = range(n) if n <= MOST_PICTURES else (0, 1, n // 2, n - 2, n - 1)
    for at in shown:
        pdf[at].render(scale=1.5).to_pil().save(pictures / f"{name}-paper-{at + 1:03}.png")
    pdf[0].render(scale=1.5, grayscale=True).to_pil().save(pictures / f"{name}-grey-001.png")
    if n > 1:
        pdf[1].render(scale=1.5, grayscale=True).to_pil().save(pictures / f"{name}-grey-002.png")
    full = [fullness(pdf[at]) for at in range(n)]
    low = min(full[:-1], default=1.0)
    print(
        f"{name}: {n} pages, {file.stat().st_size / 1000:.0f} kB; least full but the last {low:.2f}, "
        f"median {np.median(full):.2f}, last {full[-1]:.2f}: {' '.join(f'{one:.2f}' for one in full[:12])}"
    )


def main() -> None:
    words = [word for word in sys.argv[1:] if not word.startswith("--")]
    n_lakes = 2000
    if "--lakes" in sys.argv:
        n_lakes = int(sys.argv[sys.argv.index("--lakes") + 1])
        words.remove(str(n_lakes))
    out = Path(words[0])
    pictures = out / "pictures"
    pictures.mkdir(parents=True, exist_ok=True)
    names = words[1:] or ["demo", *(one.__name__ for one in STORIES), "forty", "many"]
    with started() as browser:
        for name in names:
            page, paper = made(out, name, n_lakes)
            print(f"{name}: page {page.stat().st_size / 1000:.0f} kB")
            look(browser, page, pictures, name)
            look_at_paper(paper, pictures, name)


if __name__ == "__main__":
    main()
