"""Label stocks from TOML: the built-in ones print, an office's own file is read or refused by line and key."""

from __future__ import annotations

from pathlib import Path

import pytest

from geneticlog.errors import NotFound
from geneticlog.faces.label.stocks import StockFault, load_stocks, stock_named
from geneticlog.rules.label.stock_checks import check

STOCKS = load_stocks()


@pytest.mark.parametrize("name", STOCKS)
def test_every_built_in_stock_can_be_printed_on(name: str) -> None:
    assert [doubt for doubt in check(STOCKS[name]) if doubt.refused] == []
    assert STOCKS[name].about


def test_the_built_in_stocks_cover_sheets_dots_rolls_and_scissors() -> None:
    assert {(s.kind, s.across, s.dpi) for s in STOCKS.values() if s.kind == "roll"} == {
        ("roll", across, dpi) for across in (1, 2) for dpi in (203, 300, 600)
    }
    sheets = {(s.content, round(s.page_w_mm)) for s in STOCKS.values() if s.kind == "sheet"}
    assert sheets == {(content, page) for content in ("wrap", "cap", "both") for page in (216, 210)}
    assert any(s.cut for s in STOCKS.values())
    letter = STOCKS["letter-wrap"]
    assert (letter.cols, letter.rows, letter.label_w_mm, letter.label_h_mm) == (5, 20, 1.28 * 25.4, 12.7)


def own(tmp_path: Path, text: str) -> Path:
    path = tmp_path / "own.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_an_office_adds_its_own_and_calibrates_a_built_in_one(tmp_path: Path) -> None:
    path = own(
        tmp_path,
        """
[our-printer]
like = "letter-wrap"
offset_x = -0.4
offset_y = "0.02 in"
scale_y = 1

[bag]
kind = "roll"
content = "wrap"
label_w = "5 cm"
label_h = 25
across = 1
max_print_w = 104
dpi = 203
""",
    )
    stocks = load_stocks(path)
    assert list(stocks)[-2:] == ["our-printer", "bag"]
    ours = stock_named("our-printer", stocks)
    assert (ours.cols, ours.offset_x_mm, ours.offset_y_mm, ours.scale_y) == (
        5,
        -0.4,
        pytest.approx(0.508),
        1.0,
    )
    assert stocks["bag"].label_w_mm == 50.0
    assert stocks["letter-wrap"] == STOCKS["letter-wrap"]


LIKE = "[a]\nlike = 'letter-wrap'\n"


@pytest.mark.parametrize(
    ("text", "where"),
    [
        pytest.param(LIKE + "columns = 5", "line 3, stock a, key columns: no such key", id="no such key"),
        pytest.param(
            LIKE + "\nlabel_w = '1.28'", "line 4, stock a, key label_w: '1.28' is not", id="no unit"
        ),
        pytest.param(LIKE + "cols = '5'", "key cols: '5' is not a whole number", id="text for a number"),
        pytest.param(LIKE + "cols = true", "key cols: True is not a whole number", id="yes for a number"),
        pytest.param(LIKE + "label_w = true", "key label_w: True is not a length", id="yes for a length"),
        pytest.param(LIKE + "scale_x = 'x'", "key scale_x: 'x' is not a number", id="text for a scale"),
        pytest.param("[a]\nlike = 'b'", "line 2, stock a, key like: there is no stock 'b'", id="like none"),
        pytest.param("[a]\nkind = 'roll'", "line 1, stock a: it has no content", id="a key lacking"),
        pytest.param("dpi = 300\n" + LIKE, "line 1, key dpi: it is outside", id="outside a stock"),
        pytest.param("[a]\nkind = roll", "not TOML: .*line 2", id="not TOML"),
    ],
)
def test_a_file_at_fault_is_refused_by_line_and_key(tmp_path: Path, text: str, where: str) -> None:
    with pytest.raises(StockFault, match=where) as fault:
        load_stocks(own(tmp_path, text))
    assert "own.toml" in str(fault.value)
    assert fault.value.exit_code == 1


def test_files_that_are_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(NotFound, match="no such file of label stocks"):
        load_stocks(tmp_path / "none.toml")
    (tmp_path / "own.toml").write_bytes(b"[a]\nabout = '\xe9'\n")
    with pytest.raises(StockFault, match="UTF-8"):
        load_stocks(tmp_path / "own.toml")
    with pytest.raises(StockFault, match="cannot be read"):
        load_stocks(tmp_path)
    with pytest.raises(NotFound, match="there are: letter-wrap, a4-wrap"):
        stock_named("wrap", STOCKS)
