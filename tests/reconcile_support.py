"""A shipment that was sent, returns written as files and read, and what `reconcile` says of them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from conftest import Runner
from office_support import an_office

from geneticlog.rules.lab_return.drafts.return_counts import Counts
from geneticlog.rules.vialcode import mint

COUNTS = ["sent", "returned", "matched", "failed", "missing", "unexpected", "conflicting", "duplicate_rows"]
LATER = ["blanks", "clean_blanks", "held", "rejected"]  # added later, after the others
FINDING = [
    "finding",
    "kind",
    "vial",
    "rows",
    "text",
    "decision",
    "file",
    "sheet",
    "decided_by",
    "decided_at",
    "why",
]


def assert_it_adds_up(counts: Counts, n_rows: int) -> None:
    """The identities of a return's counts, for a number of rows in force."""
    parts = (counts.matched, counts.failed, counts.conflicting, counts.held, counts.rejected)
    assert counts.returned == sum(parts)
    assert counts.sent == counts.returned + counts.missing
    assert n_rows == counts.returned + counts.duplicate_rows + counts.unexpected
    assert 0 <= counts.clean_blanks <= min(counts.blanks, counts.matched)
    assert counts.blanks <= counts.returned
    assert min(counts.missing, counts.unexpected, counts.duplicate_rows, *parts) >= 0


def document(run: Runner, *arguments: object) -> Any:
    return json.loads(run(*arguments, "--json").stdout)


def sent(run: Runner, *, n_fish: int = 6, seconds: int = 0) -> list[str]:
    vials = an_office(run.database, n_fish=n_fish, seconds=seconds)
    run("shipment", "pack", "SHIP-1", "--lab", "QUILL", "--panel", "QB38", *vials)
    run("shipment", "send", "SHIP-1", "--at", "2026-06-01")
    return vials


def read(run: Runner, folder: Path, rows: list[tuple[object, ...]], name: str = "return.csv") -> None:
    """Read a return of vial, share of Florida alleles, H and loci."""
    lines = ["Sample ID,Florida proportion,Heterozygosity,Loci scored"]
    lines += [",".join(map(str, row)) for row in rows]
    (folder / name).write_text("\n".join(lines) + "\n")
    run("return", "read", folder / name, "--shipment", "SHIP-1")


def q(k: int) -> str:
    """k Florida alleles of 76, with as many heterozygous loci as there can be."""
    return f"{k / 76:.6f}"


def typed(vial: str, k: int) -> tuple[object, ...]:
    return (vial, q(k), f"{(k % 38) / 38:.6f}" if k < 38 else f"{(76 - k) / 38:.6f}", 38)


def reconciled(run: Runner) -> tuple[dict[str, int], dict[str, dict[str, Any]]]:
    told = document(run, "reconcile", "SHIP-1")
    assert list(told) == ["shipment", "counts", "findings", "n_other_pair"]
    assert list(told["counts"]) == COUNTS + LATER
    for finding in told["findings"]:
        assert list(finding)[: len(FINDING)] == FINDING
        assert (finding["decision"] is None) == (finding["waits_for"] is not None)
    counts = told["counts"]
    parts = ("matched", "failed", "held", "conflicting", "rejected")
    assert counts["returned"] == sum(counts[name] for name in parts)
    assert counts["sent"] == counts["returned"] + counts["missing"]
    return counts, {finding["finding"]: finding for finding in told["findings"]}


def of_kind(findings: dict[str, dict[str, Any]], kind: str) -> list[str]:
    return [name for name, finding in findings.items() if finding["kind"] == kind]


def speaking(run: Runner, vial: str) -> list[tuple[str, float | None]]:
    """Standing and q of each result of a vial."""
    return [(one["standing"], one["q"]) for one in document(run, "history", vial)["results"]]


def messy(run: Runner, folder: Path) -> list[str]:
    """Six sent: one typed, one failed, one missing, one twice the same, one in contradiction, one typed; a stranger."""
    a, b, c, d, e, f = vials = sent(run)
    stranger = mint("BG", 40_000) or mint("BG", 40_001)
    assert stranger is not None
    read(
        run,
        folder,
        [
            typed(a, 10), (b, "ND", "", ""), typed(d, 20), typed(d, 20), typed(e, 30), typed(e, 60),
            typed(f, 5), typed(stranger, 44),
        ],
    )  # fmt: skip
    assert c not in {a, b, d, e, f}
    return vials
