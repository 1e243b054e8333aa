"""Label stocks from TOML: those that come with geneticlog, and an office's own file in the same form."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from geneticlog.errors import GeneticlogError, NotFound
from geneticlog.rules.label.label_stock import MM_PER_INCH, Stock
from geneticlog.toml_text import TomlSyntax, TomlText

BUILT_IN = Path(__file__).with_name("stocks.toml")
# Key as written in the file -> field of Stock; a length has its unit in the field's name.
_FIELDS = {name.removesuffix("_mm"): name for name in Stock.__dataclass_fields__ if name != "name"}
_LENGTH = re.compile(r"\s*(-?\d+(?:[.,]\d+)?)\s*(mm|cm|in)\s*")
_UNITS = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}


class StockFault(GeneticlogError):
    """A file of label stocks is at fault; the sentence names file, line and key."""


def load_stocks(own: Path | None = None) -> dict[str, Stock]:
    """Return all label stocks by name: the built-in ones, then those of an office's own TOML file.

    Raises NotFound for a file that is not there, StockFault for one that cannot be understood. Whether a
    stock can be printed on is for geneticlog.rules.label.stock_checks to say.
    """
    stocks = _read(BUILT_IN, {})
    return stocks | _read(own, stocks) if own else stocks


def stock_named(name: str, stocks: Mapping[str, Stock]) -> Stock:
    if name not in stocks:
        raise NotFound(f"no label stock {name!r}; there are: {', '.join(stocks)}")
    return stocks[name]


def _read(path: Path, known: Mapping[str, Stock]) -> dict[str, Stock]:
    try:
        text = path.read_text(encoding="utf-8-sig")
        toml = TomlText(text)
    except FileNotFoundError as fault:
        raise NotFound(f"{path}: there is no such file of label stocks; check the path") from fault
    except OSError as fault:
        raise StockFault(f"{path}: the file cannot be read ({fault.strerror})") from fault
    except UnicodeDecodeError as fault:
        raise StockFault(f"{path}: the file is not UTF-8 text; save it as UTF-8") from fault
    except TomlSyntax as fault:
        raise StockFault(f"{path}: this is not TOML: {fault}") from None
    tables = toml.table
    of_stocks: dict[str, dict[str, Any]] = {
        name: {field: getattr(stock, field) for field in _FIELDS.values()} for name, stock in known.items()
    }
    for name, table in tables.items():
        if not isinstance(table, dict):
            raise StockFault(
                f"{path}, line {toml.line_of('', name)}, key {name}: it is outside a stock;"
                " put it below a line with the stock's name in square brackets"
            )
        of_stocks[name] = _values(path, toml, name, table, of_stocks)
    stocks = {}
    for name in tables:
        if lacking := [
            key for key in ("kind", "content", "label_w", "label_h") if _FIELDS[key] not in of_stocks[name]
        ]:
            raise StockFault(
                f"{path}, line {toml.line_of(name)}, stock {name}: it has no {lacking[0]}; add it, or take"
                " it over from another stock with like"
            )
        stocks[name] = Stock(name=name, **of_stocks[name])
    return stocks


def _values(
    path: Path, toml: TomlText, name: str, table: dict[str, Any], tables: Mapping[str, dict[str, Any]]
) -> dict[str, Any]:
    """Return the fields of one stock, those it takes over from another first."""

    def fault(key: str, problem: str) -> StockFault:
        return StockFault(f"{path}, line {toml.line_of(name, key)}, stock {name}, key {key}: {problem}")

    values: dict[str, Any] = {}
    if (other := table.get("like")) is not None:
        if other not in tables:
            raise fault("like", f"there is no stock {other!r} above it or built in")
        values = dict(tables[other])
    for key, given in table.items():
        if key == "like":
            continue
        if key not in _FIELDS:
            raise fault(key, f"no such key; there are like, {', '.join(_FIELDS)}")
        field = _FIELDS[key]
        default = Stock.__dataclass_fields__[field]
        if field.endswith("_mm"):
            if (length := _length_mm(given)) is None:
                raise fault(key, f'{given!r} is not a length; write millimetres, or a text such as "1.28 in"')
            values[field] = length
        elif default.type == "float" and type(given) in (int, float):
            values[field] = float(given)
        elif type(given).__name__ == default.type:
            values[field] = given
        else:
            wanted = {"int": "a whole number", "str": "a text", "bool": "true or false", "float": "a number"}
            raise fault(key, f"{given!r} is not {wanted[str(default.type)]}")
    return values


def _length_mm(given: object) -> float | None:
    if isinstance(given, bool):
        return None
    if isinstance(given, int | float):
        return float(given)
    if isinstance(given, str) and (match := _LENGTH.fullmatch(given)):
        return float(match[1].replace(",", ".")) * _UNITS[match[2]]
    return None
