"""``report lake``: the files, the page as a page, and every number against an independent computation."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Any

import html5lib
import lakes_support
import numpy as np
import pandas as pd
import pypdfium2
import pytest
import scipy.stats
from conftest import Runner
from lakes_support import (
    NOW,
    add_fish,
    add_lake,
    add_panel,
    add_result,
    add_stocking,
    add_survey,
    add_typed,
    add_vial,
)
from report_support import reported_without_figures
from sqlalchemy.orm import Session
from statsmodels.stats.multitest import multipletests
from statsmodels.stats.proportion import proportion_confint
from tests_support import database  # noqa: F401  (the words and files of a report: SQLite alone)

from geneticlog.faces.figures import style
from geneticlog.store.engine import database_url, open_engine
from geneticlog.store.tables import Finding

HTML = "{http://www.w3.org/1999/xhtml}"
HOSTILE = "<script>alert('1')</script> & Pond"
STOCK = [0.10, 0.20, 0.05, 0.30, 0.00, 0.15]
QUALITY = [0.40, 0.55, 0.25, 0.60, 0.35]
BEFORE = [0.05, 0.00, 0.10, 0.20, 0.15, 0.00]


def a_lake(session: Session, name: str = "Heron Lake") -> None:
    lake = add_lake(session, name=name, owner="Private Owner", latitude=31.123456, longitude=-95.654321)
    panel = add_panel(session)
    first = add_survey(session, lake, "HERON-2023", date(2023, 4, 12))
    add_typed(session, first, [(10.5, q, 0.1 if q else 0.0) for q in BEFORE], panel=panel)
    second = add_survey(session, lake, "HERON-2026", date(2026, 4, 9))
    add_typed(session, second, [(10.5, q, min(q, 0.2)) for q in STOCK], panel=panel)
    add_typed(session, second, [(13.0, q, 0.3) for q in QUALITY], panel=panel)
    for length, n in ((9.0, 14), (12.5, 5)):
        add_fish(session, second, length, n_fish=n)
    add_fish(session, second, 13.5, weight_g=600)
    failed = add_vial(session, add_fish(session, second, 11.0))
    add_result(session, failed, None, failure="No amp", panel=panel)
    add_vial(session, add_fish(session, second, 11.5))
    session.add(
        Finding(
            number=1, key="x", kind="failed", vial_id=failed.id, survey_id=second.id, text="the lab had no DNA",
            opened_at=NOW, decision="close", decided_at=NOW, decided_by="Bea Test", why="<b>too dry</b>",
        )
    )  # fmt: skip
    add_stocking(session, lake, date(2024, 5, 20), 10000)
    session.commit()


def written(run: Runner, tmp_path: Path, *more: str) -> tuple[Path, Any]:
    out = tmp_path / "out"
    document = json.loads(run("report", "lake", "heron", "--out", out, "--json", *more).stdout)
    return out, document


def numbers(run: Runner) -> Any:
    """The document alone: no file is written."""
    return json.loads(run("report", "lake", "heron", "--json").stdout)


def guarded_korn_graubard(q: list[float], n_loci: int) -> tuple[float, float]:
    """The interval written afresh with scipy's distributions, a fiftieth of a fish at each end in its variance."""
    values, w = np.array(q), 0.02
    n, p, m = len(q), float(np.mean(q)), len(q) + 0.04
    p_m = (values.sum() + w) / m
    v_m = (((values**2).sum() + w) / m - p_m**2) * m / (m - 1)
    t = scipy.stats.t.ppf
    n_eff = p_m * (1 - p_m) * n / v_m * (t(0.975, 2 * n_loci * n - 1) / t(0.975, n - 1)) ** 2
    beta = scipy.stats.beta.ppf
    return (
        float(beta(0.025, n_eff * p, n_eff * (1 - p) + 1)),
        float(beta(0.975, n_eff * p + 1, n_eff * (1 - p))),
    )


def test_both_engines_give_the_same_document(
    sqlite_database: str, postgres_database: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    documents = []
    for given in (sqlite_database, postgres_database):
        monkeypatch.setattr(lakes_support, "_serial", iter(range(1, 1000)))  # the same vials
        engine = open_engine(database_url(given))
        with Session(engine) as session:
            a_lake(session)
        engine.dispose()
        documents.append(numbers(Runner(given)))
        assert documents[-1].pop("journal_head")  # each database has a journal of its own
    assert documents[0] == documents[1]


def test_golden_numbers_of_the_classes(run: Runner, session: Session) -> None:
    a_lake(session)
    document = numbers(run)
    assert document["lake"] == "HERON"
    survey = document["surveys"][1]
    classes = {row["size_class"]: row for row in survey["classes"]}
    assert list(classes) == ["substock", "stock", "quality", "preferred", "memorable", "trophy"]
    frame = pd.DataFrame({"size_class": ["stock"] * 6 + ["quality"] * 5, "q": STOCK + QUALITY})
    for name, q in frame.groupby("size_class")["q"]:
        row = classes[str(name)]
        low, high = guarded_korn_graubard(list(q), 38)
        assert row["n_resulted"] == q.count()
        assert row["mean"] == pytest.approx(q.mean(), abs=1e-12)
        assert (row["low"], row["high"]) == pytest.approx((low, high), abs=1e-9)
        assert row["spread"] == pytest.approx(q.std(ddof=1), abs=1e-12)
        assert (row["least_q"], row["most_q"]) == (q.min(), q.max())
        carriers = int((q > 0.05).sum())  # a fish with 5 % may be a misread northern one
        assert row["n_carriers"] == carriers
        wilson = proportion_confint(carriers, q.count(), method="wilson")
        assert (row["carriers_low"], row["carriers_high"]) == pytest.approx(wilson, abs=1e-9)
        assert row["unseen"] == pytest.approx(1 - 0.05 ** (1 / q.count()))
    assert [(row["n_caught"], row["n_swabbed"]) for row in survey["classes"]] == [
        (0, 0), (22, 8), (11, 5), (0, 0), (0, 0), (0, 0),
    ]  # fmt: skip
    assert classes["stock"]["composition"] == {"northern": 2, "intergrade": 4}
    assert classes["trophy"]["mean"] is None
    assert classes["trophy"]["guard"] == "no fish"
    assert classes["quality"]["mean_relative_weight"] == pytest.approx(
        100 * 600 / 10 ** (-5.528 + 3.273 * np.log10(13.5 * 25.4))
    )


def test_golden_numbers_of_the_lake(run: Runner, session: Session) -> None:
    a_lake(session)
    document = numbers(run)
    survey = document["surveys"][1]
    every = STOCK + QUALITY
    assert survey["swabbed"]["mean"] == pytest.approx(np.mean(every), abs=1e-12)
    low, high = guarded_korn_graubard(every, 38)
    reached = (low - 0.02) / (1 - 2 * 0.02)  # as far as 2 % misread alleles, the most where no rate is known
    assert (survey["swabbed"]["low"], survey["swabbed"]["high"]) == pytest.approx((reached, high), abs=1e-9)
    weights = {"stock": 22 / 33, "quality": 11 / 33}
    weighted = weights["stock"] * np.mean(STOCK) + weights["quality"] * np.mean(QUALITY)
    assert survey["catch_weighted"]["mean"] == pytest.approx(weighted, abs=1e-12)
    assert survey["catch_weighted"]["share_of_catch_covered"] == 1
    assert survey["catch_weighted"]["low"] < weighted < survey["catch_weighted"]["high"]
    contrast = survey["young_minus_adult"]
    assert contrast["difference"] == pytest.approx(np.mean(STOCK) - np.mean(QUALITY), abs=1e-12)
    welch = scipy.stats.ttest_ind(
        STOCK, QUALITY, equal_var=False
    )  # the guard only widens it, and not by much
    low, high = welch.confidence_interval()
    assert contrast["low"] < low < high < contrast["high"]
    assert contrast["high"] - contrast["low"] < 2 * (high - low)
    assert welch.pvalue < contrast["p"]
    assert (contrast["p"] < 0.05) == (contrast["high"] < 0)
    pairs = sum((b > a) + 0.5 * (b == a) for a in STOCK for b in QUALITY)
    assert survey["trend"]["statistic"] == pytest.approx(pairs)
    change = document["changes"][0]
    assert (change["earlier"], change["later"]) == ("HERON-2023", "HERON-2026")
    # only stock fish have results in both surveys, and 22 of the 33 fish caught in the later one are stock
    assert change["difference"] == pytest.approx(np.mean(STOCK) - np.mean(BEFORE), abs=1e-12)
    assert change["low"] < change["difference"] < change["high"]
    assert change["basis"] == "both weighted to one length frequency"
    assert (change["n_earlier"], change["n_later"]) == (len(BEFORE), len(STOCK))
    assert (change["earlier_covered"], change["later_covered"]) == pytest.approx((1, 22 / 33))
    assert any("only 67 % of the catch of HERON-2026" in note for note in change["notes"])
    assert {"gear", "panel", "size classes", "season"} <= set(change["alike"])


def test_other_sizes_caught_do_not_pass_for_a_change(run: Runner, session: Session, tmp_path: Path) -> None:
    lake, panel = add_lake(session), add_panel(session)
    small, large = [0.1, 0.2, 0.15, 0.05, 0.1, 0.12], [0.6, 0.7, 0.65, 0.55, 0.6, 0.62]
    for code, when, caught in (
        ("HERON-2023", date(2023, 4, 12), (90, 10)),
        ("HERON-2026", date(2026, 4, 9), (10, 90)),
    ):
        survey = add_survey(session, lake, code, when)
        for length, n, group in ((10.5, caught[0], small), (13.0, caught[1], large)):
            add_typed(session, survey, [(length, q, None) for q in group], panel=panel)
            add_fish(session, survey, length, n_fish=n - len(group))
    session.commit()
    document = reported_without_figures(run, tmp_path)
    change = document["changes"][0]
    assert change["difference"] == pytest.approx(0, abs=1e-9)
    assert change["low"] < 0 < change["high"]
    assert change["p"] > 0.9
    assert change["notes"] == []
    first, second = (survey["catch_weighted"]["mean"] for survey in document["surveys"])
    assert second - first > 0.3
    row = cells(html5lib.HTMLParser(strict=True).parse((tmp_path / "heron.html").read_text()), "changes")[1]
    assert row[-1] == "alike in gear, panel, loci scored, size classes, season"
    assert any("both weighted to one length frequency" in sentence for sentence in document["summary"])


def cells(page: Any, table: str) -> list[list[str]]:
    found = next(one for one in page.iter(f"{HTML}table") if one.get("id") == f"table-{table}")
    return [
        ["".join(cell.itertext()).strip() for cell in row if cell.tag in (f"{HTML}th", f"{HTML}td")]
        for row in found.iter(f"{HTML}tr")
    ]


def test_the_finished_table_shows_the_numbers(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, _ = written(run, tmp_path)
    rows = cells(html5lib.HTMLParser(strict=True).parse((out / "heron.html").read_text()), "classes")
    stock = dict(zip(rows[0], next(row for row in rows if row[0].startswith("stock")), strict=True))
    low, high = guarded_korn_graubard(STOCK, 38)
    assert stock["mean q"] == f"{np.mean(STOCK):.3f}"
    assert stock["95 % interval"] == f"{low:.3f} to {high:.3f}"
    assert stock["could go\nundetected"] == "39 %"
    assert (stock["caught"], stock["swabbed"], stock["result"]) == ("22", "8", "6")


def test_every_size_class_says_what_it_is_made_of(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, document = written(run, tmp_path)
    rows = cells(html5lib.HTMLParser(strict=True).parse((out / "heron.html").read_text()), "composition")
    assert rows[0][2:-1] == ["northern", "intergrade", "F1", "Florida", "undetermined"]
    assert [row[1] for row in rows[1:]] == ["6", "5", "11"]
    low, high = proportion_confint(2, 6, method="wilson")
    assert rows[1][2] == f"2 ({low * 100:.1f} to {high * 100:.1f} %)"
    assert f"2 ({low * 100:.1f} to {high * 100:.1f} %)" in pdf_words(out / "heron.pdf")
    table = pd.read_csv(out / "heron_composition.csv")
    stock = table[(table["survey"] == "HERON-2026") & (table["size_class"] == "stock")]
    assert stock["n_fish"].sum() == 6
    for told in document["surveys"][1]["composition"]:
        limits = proportion_confint(told["n_fish"], told["n_resulted"], method="wilson")
        assert (told["low"], told["high"]) == pytest.approx(limits, abs=1e-9)


def test_no_f1_is_counted_where_nothing_could_show_one(run: Runner, session: Session, tmp_path: Path) -> None:
    survey = add_survey(session, add_lake(session))
    add_typed(session, survey, [(10.5, q, None) for q in (0.0, 0.5, 0.9)])
    session.commit()
    document = reported_without_figures(run, tmp_path, paper=True)
    told = {one["ancestry_class"]: one for one in document["surveys"][0]["composition"][:5]}
    assert told["F1"]["n_fish"] is None
    assert told["undetermined"]["n_fish"] == 1
    page = html5lib.HTMLParser(strict=True).parse((tmp_path / "heron.html").read_text())
    row = dict(zip(*cells(page, "composition")[:2], strict=True))
    assert (row["F1"], row["reliability"]) == ("–", "too few to read; wide")
    # on paper, too, it stands on one line where the other columns leave it room
    paper = "".join(
        page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(tmp_path / "heron.pdf")
    )
    assert re.search("mean of the swabbed fish .*too few to read; wide", paper)


def test_condition_and_length_stand_beside_ancestry(run: Runner, session: Session, tmp_path: Path) -> None:
    survey = add_survey(session, add_lake(session))
    lengths, weights = [8.5, 9.0, 9.6, 10.1, 10.8, 11.2, 11.7], [140, 150, 215, 230, 260, 330, 350]
    q = [0.0, 0.7, 0.2, 0.4, 0.5, 0.1, 0.3]
    for length, weight, one in zip(lengths, weights, q, strict=True):
        vial = add_vial(session, add_fish(session, survey, length, weight_g=weight))
        add_result(session, vial, one, None, 38, None)
    add_typed(session, survey, [(13.0, 0.2, None), (13.5, 0.4, None)])
    few = [(15.2, 0.1, None), (16.0, 0.5, None), (16.8, 0.2, None), (17.5, 0.6, None)]
    add_typed(session, survey, few)
    session.commit()
    document = reported_without_figures(run, tmp_path, paper=True)
    told = {
        (row["measure"], row["size_class"]): row
        for row in document["surveys"][0]["ancestry_length_condition"]
    }
    mm = np.array(lengths) * 25.4
    condition = 100 * np.array(weights) / 10 ** (-5.528 + 3.273 * np.log10(mm))
    for measure, values in (("relative_weight", condition), ("length_mm", mm)):
        line = scipy.stats.linregress(q, values)
        reach = scipy.stats.t.ppf(0.975, 5) * line.stderr
        row = told[measure, "stock"]
        assert row["n"] == 7
        assert (row["slope"], row["low"], row["high"]) == pytest.approx(
            (line.slope, line.slope - reach, line.slope + reach), rel=1e-6
        )
        assert row["p"] == pytest.approx(line.pvalue, rel=1e-6)
        assert row["rank"] == pytest.approx(scipy.stats.spearmanr(q, values).statistic)
        assert row["guard"] == ""
    assert told["relative_weight", "quality"]["guard"] == "no fish"
    assert told["length_mm", "quality"]["guard"] == "too few to read"
    assert told["length_mm", "quality"]["slope"] is None
    # four fish are too few to be read, so their slope is no test that the others pay for
    assert told["length_mm", "preferred"]["p"] is not None
    assert told["length_mm", "preferred"]["p_holm"] is None
    tests = [row["p"] for (measure, _), row in told.items() if measure == "length_mm" and row["n"] >= 5]
    assert [
        row["p_holm"] for (measure, _), row in told.items() if measure == "length_mm" and row["n"] >= 5
    ] == (pytest.approx(list(multipletests(tests, method="holm")[1]), rel=1e-9))
    slope = scipy.stats.linregress(q, condition).slope / 10
    page = (tmp_path / "heron.html").read_text()
    row = cells(html5lib.HTMLParser(strict=True).parse(page), "growth-relative_weight")[1]
    assert row[3] == f"{slope:+.2f}".replace("-", "−")
    assert f"after Holm for {len(tests)} tests, the lines of this table with fish enough" in page
    for words in (re.sub(r"\s+", " ", page), pdf_words(tmp_path / "heron.pdf")):
        assert "An association, never a cause" in words
        assert "Maceina &amp; Murphy 1988" in words or "Maceina & Murphy 1988" in words


def test_a_survey_that_weighed_nothing_says_so(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, _ = written(run, tmp_path)
    assert "No fish with a result was weighed" in (out / "heron.html").read_text()


def test_the_page_is_html_that_needs_nothing_from_outside(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session)
    out, _ = written(run, tmp_path)
    text = (out / "heron.html").read_text()
    page = html5lib.HTMLParser(strict=True).parse(text)
    for element in page.iter():
        for name, value in element.attrib.items():
            if str(name).split("}")[-1] in {"src", "href", "data", "action", "poster", "srcset"}:
                assert value.startswith("#"), (element.tag, name, value)
    assert not re.search(r"@import|url\(\s*['\"]?(?!#)", text)
    assert "<script" not in text
    assert "https:" not in text
    assert "http:" not in text


def test_a_hostile_name_is_only_a_name(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session, HOSTILE)
    out, _ = written(run, tmp_path)
    text = (out / "heron.html").read_text()
    page = html5lib.HTMLParser(strict=True).parse(text)
    assert not list(page.iter(f"{HTML}script"))
    assert HOSTILE in "".join(next(page.iter(f"{HTML}h1")).itertext())
    assert "<b>too dry</b>" in "".join(page.itertext())
    assert HOSTILE.split(">")[1] in pdf_words(out / "heron.pdf")


def test_the_page_can_be_read_without_eyes(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, _ = written(run, tmp_path)
    page = html5lib.HTMLParser(strict=True).parse((out / "heron.html").read_text())
    root = next(page.iter(f"{HTML}html"))
    assert root.get("lang") == "en"
    levels = [int(one.tag[-1]) for one in page.iter() if re.fullmatch(r"\{.*\}h[1-6]", str(one.tag))]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    identities = [one.get("id") for one in page.iter() if one.get("id")]
    assert len(identities) == len(set(identities))
    for one in page.iter():
        if one.get("aria-labelledby"):
            assert one.get("aria-labelledby") in identities
    tables = list(page.iter(f"{HTML}table"))
    assert len(tables) >= 6
    for table in tables:
        assert "".join(next(table.iter(f"{HTML}caption")).itertext()).strip()
        heads = list(next(table.iter(f"{HTML}thead")).iter(f"{HTML}th"))
        assert all(head.get("scope") == "col" for head in heads)
        for row in next(table.iter(f"{HTML}tbody")).iter(f"{HTML}tr"):
            assert next(iter(row)).get("scope") == "row"
            assert len(list(row)) == len(heads)
    drawings = [one for one in page.iter() if str(one.tag).endswith("}svg")]
    assert len(drawings) == 10  # five figures, for a page and for a phone
    for drawing in drawings:
        assert drawing.get("role") == "img"
        title = next(iter(drawing))
        assert str(title.tag).endswith("}title")
        assert title.get("id") == drawing.get("aria-labelledby")
        assert len("".join(title.itertext())) > 40


def pdf_words(path: Path) -> str:
    words = "".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(path))
    return re.sub(r"\s+", " ", words)


def test_paper_says_what_the_page_says(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, document = written(run, tmp_path, "--paper", "a4")
    words = pdf_words(out / "heron.pdf")
    for sentence in document["summary"]:
        assert sentence in words
    for heading in ("Size classes", "Ancestry, length and condition", "History", "Next time", "Cautions"):
        assert heading in words
    assert document["fingerprint"] in words
    width, height = pypdfium2.PdfDocument(out / "heron.pdf")[0].get_size()
    assert (width, height) == pytest.approx((595.3, 841.9), abs=0.2)


def test_no_sample_is_dropped_without_a_word(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, document = written(run, tmp_path)
    survey = document["surveys"][1]
    assert survey["n_swabbed"] == 13
    assert survey["n_resulted"] == 11
    named = {note["vial"] for note in survey["samples"] if note["standing"] == "not in the numbers"}
    assert len(named) == survey["n_swabbed"] - survey["n_resulted"]
    words = (out / "heron.html").read_text()
    assert "failed at the lab; the lab wrote &#39;No amp&#39;" in words
    assert "filled, not packed for a lab yet" in words
    assert "close by Bea Test" in words


def test_all_files_are_there_and_hold_the_same_numbers(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, document = written(run, tmp_path)
    names = {path.name for path in out.iterdir()} - {".geneticlog-files"}
    tables = {
        "class_differences",
        "classes",
        "composition",
        "surveys",
        "size_structure",
        "changes",
        "fish",
        "samples",
        "stockings",
        "next",
        "units",
    }
    figures = {"sizes", "length", "composition", "cross", "history"}
    assert names == {"heron.html", "heron.pdf", "heron.xlsx"} | {f"heron_{name}.csv" for name in tables} | {
        f"heron_{name}.png" for name in figures
    }
    with (out / "heron_classes.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["survey"] == "HERON-2026"]
    for row, told in zip(rows, document["surveys"][1]["classes"], strict=True):
        assert row["size_class"] == told["size_class"]
        assert row["mean"] == ("" if told["mean"] is None else repr(told["mean"]))
    with (out / "heron_next.csv").open(newline="") as file:
        planned = {row["size_class"]: row["n_wanted"] for row in csv.DictReader(file)}
    assert planned == {row["size_class"]: str(row["n_wanted"]) for row in document["next_plan"]["classes"]}
    with (out / "heron_units.csv").open(newline="") as file:
        meanings = {row["column"]: row["meaning"] for row in csv.DictReader(file) if row["table"] == "next"}
    assert "lake's mean" in meanings["n_wanted"]
    assert "class's own mean" in meanings["n_for_half_width"]
    assert zipfile.ZipFile(io.BytesIO((out / "heron.xlsx").read_bytes())).testzip() is None
    sheets = pd.read_excel(out / "heron.xlsx", sheet_name=None, engine="openpyxl")
    assert set(sheets) == tables
    assert len(sheets["fish"]) == len(BEFORE) + len(STOCK) + len(QUALITY)
    assert sheets["classes"]["n_caught"].sum() == 39


def test_owner_and_position_are_in_no_file(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    out, document = written(run, tmp_path)
    for path in out.iterdir():
        assert b"Private Owner" not in path.read_bytes()
        assert b"31.1234" not in path.read_bytes()
    assert "Private Owner" not in json.dumps(document)


def test_the_same_data_have_the_same_fingerprint_and_figures(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    a_lake(session)
    first, told = written(run, tmp_path / "a")
    style._drawn.cache_clear()
    second, again = written(run, tmp_path / "b")
    assert told["fingerprint"] == again["fingerprint"]
    for path in first.glob("*.png"):
        assert path.read_bytes() == (second / path.name).read_bytes()


def test_what_cannot_be_reported_is_one_sentence(run: Runner, session: Session, tmp_path: Path) -> None:
    add_lake(session)
    session.commit()
    out = tmp_path / "out"
    assert "no lake 'NONE'" in run("report", "lake", "NONE", "--out", out, fails=3).stderr
    assert "has no survey yet" in run("report", "lake", "HERON", "--out", out, fails=3).stderr
    assert not out.exists()
    assert json.loads(run("report", "lake", "HERON", "--json").stdout)["surveys"] == []
    assert "--out DIR" in run("report", "lake", "HERON", fails=2).stderr
    assert "no survey 'X'" in run("report", "lake", "HERON", "--json", "--survey", "X", fails=3).stderr


def test_a_folder_that_is_a_file_is_refused(run: Runner, session: Session, tmp_path: Path) -> None:
    a_lake(session)
    there = tmp_path / "there"
    there.write_text("mine")
    assert "is a file" in run("report", "lake", "HERON", "--out", there, fails=4).stderr
    assert there.read_text() == "mine"


def test_a_survey_without_a_result_is_reported_with_its_catch(
    run: Runner, session: Session, tmp_path: Path
) -> None:
    survey = add_survey(session, add_lake(session))
    add_vial(session, add_fish(session, survey, 12.5))
    add_fish(session, survey, None, n_fish=3)
    session.commit()
    out, document = written(run, tmp_path)
    assert "No fish of Heron Lake has a result yet" in document["summary"][0]
    assert document["surveys"][0]["swabbed"]["mean"] is None
    words = (out / "heron.html").read_text()
    assert "3 fish caught have no size class" in words
    assert "nan" not in re.sub(r"<svg.*?</svg>", "", words, flags=re.DOTALL).lower()


def test_two_taxa_of_another_pair_are_named_throughout(run: Runner, session: Session, tmp_path: Path) -> None:
    lake = add_lake(session)
    panel = add_panel(session, "SP20", 20, taxon="spotted", other_taxon="smallmouth")
    survey = add_survey(session, lake, species="smallmouth_bass")
    for length, q in ((9.5, 0.0), (9.9, 1.0), (10.1, 0.4), (10.2, 0.0), (10.3, 0.9)):
        vial = add_vial(session, add_fish(session, survey, length, species="smallmouth_bass"))
        add_result(session, vial, q, None, 20, panel)
    session.commit()
    document = reported_without_figures(run, tmp_path)
    assert document["surveys"][0]["classes"][1]["composition"] == {
        "smallmouth": 2,
        "spotted": 1,
        "intergrade": 2,
    }
    view = re.sub(r"(?s)<section id=\"methods\".*", "", (tmp_path / "heron.html").read_text())
    assert "Florida" not in view
    assert "northern" not in view
