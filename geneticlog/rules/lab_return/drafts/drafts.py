"""The rows of a lab's file, each turned into what the lab said of one vial, with everything doubtful
noted."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from operator import itemgetter

from geneticlog.rules.finding.finding_kinds import FINDINGS, FindingKind, Noted
from geneticlog.rules.genetics.rule_set import DEFAULT_RULE_SET, RuleSet
from geneticlog.rules.lab_return.cells.cell_values import NOTHING, CellValue, value_in
from geneticlog.rules.lab_return.cells.cells import missing_meaning, number
from geneticlog.rules.lab_return.cells.mangled import mangled_code
from geneticlog.rules.lab_return.columns.column_units import ALL_ALLELES
from geneticlog.rules.lab_return.columns.genotypes import alleles, ancestry_of, marker_of
from geneticlog.rules.lab_return.columns.lab_classes import class_meant, compare_classes, in_full, no_cross
from geneticlog.rules.lab_return.columns.texts_against import texts_against
from geneticlog.rules.lab_return.columns.third_lineage import check_third
from geneticlog.rules.lab_return.columns.value_checks import (
    check_call_rate,
    check_pair,
    check_shares,
    says_f1,
)
from geneticlog.rules.lab_return.columns.whose_share import EACH_ROW, column_of_taxa
from geneticlog.rules.lab_return.drafts.draft import LEFT_BLANK, Draft, said_again
from geneticlog.rules.lab_return.drafts.longer_codes import code_beside, speaks_of_another, word_before_all
from geneticlog.rules.lab_return.drafts.recounted import compare_counted
from geneticlog.rules.lab_return.sheet.reading import Column, Reading, Row, without_well
from geneticlog.rules.lab_return.words.headings import counted_in_alleles, plain, taxa_named
from geneticlog.rules.lab_return.words.roles import PROPORTIONS, ColumnRole
from geneticlog.rules.result.result_states import Outcome
from geneticlog.rules.vialcode import VialCodeError, parse, printed

LEAST_PURE = 0.75  # of a fish that a lab calls pure, of that taxon; common practice, no source


class Drafter:
    """Turns rows into drafts by one Reading; ``known`` are the codes that need no parsing.

    ``panel_loci`` is the number of loci of the shipment's panel, where it has one; ``rule_set`` the one in force,
    by which the lab's classes are looked at.
    """

    def __init__(
        self,
        reading: Reading,
        known: Collection[str] = (),
        panel_loci: int | None = None,
        rule_set: RuleSet = DEFAULT_RULE_SET,
    ) -> None:
        self.reading, self.known, self.panel_loci, self.rule_set = reading, known, panel_loci, rule_set
        self.column: dict[ColumnRole, Column] = {
            column.role: column for column in reading.columns if column.role != ColumnRole.MARKER
        }
        self.markers = [column for column in reading.columns if column.role == ColumnRole.MARKER]
        self.mixed = any(column.own_units for column in reading.columns)
        self.remarks = [column for column in reading.columns if column.role == ColumnRole.FAILURE]
        self.taxa: Column | None = None  # names the taxon of each row's share
        self.before_all = ""  # the word before every code
        self.letters: dict[str, str] = {}  # of classes that are one letter each
        self.against: dict[int, frozenset[str]] = {}  # column -> texts in it that take a value back
        self._values: dict[ColumnRole, dict[tuple[str, str], CellValue]] = {role: {} for role in self.column}
        self._plain = frozenset(known)

    def drafts(self, rows: Sequence[Row]) -> Iterator[Draft]:
        """Yield the draft of each data row, in the file's order.

        Fish with the same figures are many (a proportion is a whole number of alleles), so a row whose code
        is known and whose other cells were met before takes the draft made then, with its own row and code.
        """
        self.against = texts_against(self.reading, rows)
        if (column := self.column.get(ColumnRole.LAB_CLASS)) is not None:
            i = column.number - 1
            words = {rows[n - 1][i][0].strip() for n in self.reading.data_rows if len(rows[n - 1]) > i}
            self.letters = in_full(words, self.reading.layout.taxa)
        layout = self.reading.layout
        if layout.taxon_of_q == EACH_ROW:
            self.taxa = column_of_taxa(self.reading.columns, rows, self.reading.data_rows, layout)
        vial = self.column[ColumnRole.VIAL].number - 1 if ColumnRole.VIAL in self.column else None
        if vial is not None:
            codes = (rows[n - 1][vial][0] for n in self.reading.data_rows if len(rows[n - 1]) > vial)
            self.before_all = word_before_all(codes, layout)
        others = [
            c.number - 1
            for c in self.reading.columns
            if (c.role and c.role != ColumnRole.VIAL)
            or (c.number in self.against and c.role != ColumnRole.VIAL)
            or c == self.taxa
        ]
        if vial is None or self.markers or self.mixed or not others:
            yield from (self.draft(row_number, rows[row_number - 1]) for row_number in self.reading.data_rows)
            return
        figures = itemgetter(*others)
        width = max(vial, *others) + 1
        met: dict[object, Draft] = {}
        for row_number in self.reading.data_rows:
            row = rows[row_number - 1]
            if len(row) < width or row[vial][0] not in self._plain:
                yield self.draft(row_number, row)
                continue
            key = figures(row)
            before = met.get(key)
            if before is None:
                before = met[key] = self.draft(row_number, row)
            yield said_again(before, row_number, row[vial][0])

    def draft(self, row_number: int, row: Row) -> Draft:
        """Return what one row says."""
        written, kind = self._cell(row, ColumnRole.VIAL)
        draft = Draft(row_number, written, written if written in self._plain else None)
        if draft.code is None:
            self._read_code(draft, kind, row)
        self._read_loci(draft, row)
        halves = {role: self._read_share(draft, row, role) for role in PROPORTIONS if role in self.column}
        if ColumnRole.LAB_CLASS in self.column:
            text = self._cell(row, ColumnRole.LAB_CLASS)[0].strip()
            draft.lab_class = text if text and missing_meaning(text) is None else None
        if self.markers:
            self._read_genotypes(draft, row)
        self._settle(draft, row, halves)
        if draft.noted:
            draft.held = any(FINDINGS[noted.kind].holds for noted in draft.noted)
        return draft

    def _cell(self, row: Row, role: ColumnRole) -> tuple[str, str]:
        column = self.column.get(role)
        if column is None or len(row) < column.number:
            return "", "empty"
        return row[column.number - 1]

    def _read_code(self, draft: Draft, kind: str, row: Row) -> None:
        text = draft.written.strip()
        if not text:
            draft.noted.append(Noted(FindingKind.NO_CODE, {"beside": self._named_so(row)}))
            return
        try:
            draft.code = parse(text if len(text) <= 9 else self._without_well(text))
        except VialCodeError:
            how = mangled_code(text, kind)
            if not how and (beside := code_beside(text)):
                draft.code, rest = beside
                if rest and rest == self.before_all:
                    return
                kind_ = (
                    FindingKind.LONGER_CODE
                    if speaks_of_another(rest, self.reading.layout)
                    else FindingKind.CODE_RESPELLED
                )
                draft.noted.append(Noted(kind_, {"written": repr(draft.written)}))
            elif how:
                draft.noted.append(
                    Noted(FindingKind.MANGLED_CODE, {"written": repr(draft.written), "how": how})
                )
            else:
                draft.noted.append(Noted(FindingKind.UNREADABLE_CODE, {"written": repr(draft.written)}))
            return
        if text != draft.code and text != printed(draft.code):
            draft.noted.append(Noted(FindingKind.CODE_RESPELLED, {"written": repr(draft.written)}))

    def _named_so(self, row: Row) -> str:
        """What else names a row without a code, as the lab's own number does, for a sentence."""
        unused = (column for column in self.reading.columns if not column.role and column.text_in(row))
        named = next((column for column in unused if re.search(r"[^\W\d_]", column.text_in(row))), None)
        return f" ({named.named}: {named.text_in(row)[:30]})" if named else ""

    def _without_well(self, text: str) -> str:
        """The code as it is, where that checks; else without a well behind it."""
        try:
            return parse(text)
        except VialCodeError:
            return without_well(text)

    def _read_share(self, draft: Draft, row: Row, role: ColumnRole) -> CellValue:
        cell = self._cell(row, role)
        known = self._values[role]
        unit = self.column[role].unit_at(draft.row) if self.mixed else self.column[role].unit
        value = known.get(cell) if not self.mixed else None
        if value is None:
            value = known[cell] = value_in(cell, unit, self.reading.decimal, self.reading.layout.missing)
        if unit == "count" or value.of is not None:
            value = self._counted(draft, role, value, cell[0])
        if role == ColumnRole.Q and value.value is not None and self._counts_the_other(row):
            value = value._replace(value=1.0 - value.value)
        if value.fault:
            name = self.column[role].heading or self.column[role].letter
            facts: dict[str, object] = {"column": name, "written": repr(cell[0].strip()), "how": value.how}
            if value.fault == FindingKind.IMPOSSIBLE_VALUE:
                facts |= {"limits": value.how, "role": role, "among": ""}
            draft.noted.append(Noted(value.fault, facts))
        setattr(draft, role, value.value)
        return value

    def _counts_the_other(self, row: Row) -> bool:
        """Whether the share of a row is the other taxon's, as a person said of all or as a column says of each."""
        layout = self.reading.layout
        if self.taxa is not None:
            text = row[self.taxa.number - 1][0] if len(row) >= self.taxa.number else ""
            return taxa_named(plain(text), layout.taxa) == (False, True)
        return layout.taxon_of_q == layout.taxa.other_taxon

    def _counted(self, draft: Draft, role: ColumnRole, value: CellValue, written: str) -> CellValue:
        """Return the share that a count of alleles or loci comes to, alone or as a ratio such as 34/76."""
        if value.value is None or role == ColumnRole.CALL_RATE:
            return value
        steps = 1 if role == ColumnRole.HETEROZYGOSITY else 2
        counted_alleles = "allele" in plain(self.column[role].heading) or role == ColumnRole.HETEROZYGOSITY
        if value.of is not None and draft.n_loci is None and not counted_alleles:
            return value  # whether it is out of alleles or of loci is not said
        if draft.n_loci is None and value.of is not None and value.of % steps == 0:
            draft.n_loci = value.of // steps
        elif draft.n_loci is None and value.of is None:
            draft.n_loci = self.panel_loci
        out_of = steps * (draft.n_loci or 0)
        column = self.column[role]
        counted = value.value * (value.of or 1)
        if not out_of or (value.of or out_of) != out_of or counted > out_of:
            facts = {
                "column": column.heading or column.letter, "written": repr(written.strip()), "wanted": out_of,
                "loci": draft.n_loci or "unknown", "role": role,
            }  # fmt: skip
            draft.noted.append(Noted(FindingKind.COUNT_OUT_OF, facts))
            return CellValue(None, 0.0, None, "", None)
        return value._replace(value=counted / out_of, half_digit=1e-9)

    def _read_loci(self, draft: Draft, row: Row) -> None:
        column = self.column.get(ColumnRole.N_LOCI)
        if column is None:
            draft.n_loci = self._loci_of_both(row)
            return
        text, kind = self._cell(row, ColumnRole.N_LOCI)
        figure = number(text, "." if kind == "number" else self.reading.decimal)
        if figure is not None and counted_in_alleles(column.heading):
            figure = figure.halved()
        if figure is not None and figure.of is not None:
            draft.n_loci = round(figure.value * figure.of)  # scored of attempted
        elif figure is not None and figure.value == 0:
            draft.n_loci = 0
        elif figure is not None and figure.value.is_integer() and 0 < figure.value < 1_000_000:
            draft.n_loci = int(figure.value)
        elif kind != "empty" and missing_meaning(text, self.reading.layout.missing) is None:
            kind_ = FindingKind.UNREADABLE_VALUE if figure is None else FindingKind.IMPOSSIBLE_VALUE
            facts = {
                "column": column.heading,
                "written": repr(text.strip()),
                "limits": "a whole number above 0",
                "among": "",
            }
            draft.noted.append(Noted(kind_, facts))

    def _loci_of_both(self, row: Row) -> int | None:
        """The loci that the counts of both taxa make, where a person says that these are all alleles scored."""
        if not self.reading.layout.changes_nothing(ALL_ALLELES):
            return None
        pair = [self.column.get(role) for role in (ColumnRole.Q, ColumnRole.OTHER_Q)]
        figures = [
            self.reading.number_in(row, column) for column in pair if column and column.unit == "count"
        ]
        if len(figures) < 2 or any(figure is None or figure.of is not None for figure in figures):
            return None
        total = sum(figure.value for figure in figures if figure)
        fits = total > 0 and total % 2 == 0 and total / 2 <= (self.panel_loci or total)
        return int(total / 2) if fits else None

    def _read_genotypes(self, draft: Draft, row: Row) -> None:
        layout = self.reading.layout
        texts: dict[str, str] = {}
        for column in self.markers:
            text = row[column.number - 1][0] if len(row) >= column.number else ""
            marker = marker_of(column.heading or column.letter, layout.coding)
            texts[marker] = f"{texts[marker]}/{text.strip()}" if marker in texts else text.strip()
        try:
            draft.genotypes = alleles(texts, layout)
        except ValueError as fault:
            draft.noted.append(Noted(FindingKind.UNREADABLE_GENOTYPE, {"problem": str(fault)}))

    def _settle(self, draft: Draft, row: Row, halves: dict[ColumnRole, CellValue]) -> None:
        counted = ancestry_of(draft.genotypes) if draft.genotypes else None
        if counted is not None:
            self._compare(draft, counted, halves)
        faulty = any(
            FINDINGS[noted.kind].holds and noted.kind != FindingKind.LONGER_CODE for noted in draft.noted
        )
        if draft.q is None:
            if not faulty:
                draft.outcome = Outcome.FAILED
                draft.failure = self._failure(row, halves)
                draft.other_q = draft.third_q = draft.heterozygosity = None
                draft.noted.append(
                    Noted(FindingKind.FAILED, {"said": f", {draft.failure!r}" if draft.failure else ""})
                )
            draft.n_loci = draft.n_loci or None
            return
        if draft.n_loci == 0:
            draft.noted.append(Noted(FindingKind.ZERO_FOR_MISSING, {"what": "the number of loci scored"}))
        draft.n_loci = draft.n_loci or None
        self._hear_the_lab(draft, row, halves.get(ColumnRole.Q, NOTHING).half_digit)
        if draft.n_loci is None and draft.call_rate and self.panel_loci:
            draft.n_loci = round(draft.call_rate * self.panel_loci) or None
        rounding = sum(
            halves[role].half_digit
            for role in (ColumnRole.Q, ColumnRole.OTHER_Q, ColumnRole.THIRD_Q)
            if role in halves
        )
        draft.noted += check_shares(draft.q, draft.other_q, draft.third_q, rounding)
        draft.noted += check_third(draft.third_q)
        if not draft.noted or draft.noted[-1].kind != FindingKind.ZERO_FOR_MISSING:
            draft.half_digits = (
                halves[ColumnRole.Q].half_digit if ColumnRole.Q in halves else 0.0,
                halves[ColumnRole.HETEROZYGOSITY].half_digit if ColumnRole.HETEROZYGOSITY in halves else 0.0,
            )
            noted_already = any(noted.kind == FindingKind.GENOTYPES_DISAGREE for noted in draft.noted)
            pair = check_pair(draft.q, draft.heterozygosity, draft.n_loci, *draft.half_digits)
            # genotypes that give another value say it already, and better
            draft.noted += [
                noted
                for noted in pair
                if not (noted_already and noted.kind in (FindingKind.OFF_GRID, FindingKind.ODD_PARITY))
            ]
        draft.noted += check_call_rate(draft.call_rate, draft.n_loci, self.panel_loci)
        h = draft.heterozygosity
        if draft.lab_class and h is not None and h < self.rule_set.f1_least_h and says_f1(draft.lab_class):
            facts = {"lab_class": draft.lab_class, "heterozygosity": h}
            draft.noted.append(Noted(FindingKind.F1_LABEL_LOW_HETEROZYGOSITY, facts))
        elif draft.lab_class and not any(
            noted.kind == FindingKind.CLASS_CONTRADICTS for noted in draft.noted
        ):
            draft.noted += compare_classes(
                self._in_full(draft.lab_class),
                draft.q,
                h,
                draft.n_loci,
                self.reading.layout.taxa,
                self.rule_set,
            )

    def _in_full(self, lab_class: str) -> str:
        return self.letters.get(lab_class, lab_class)

    def _hear_the_lab(self, draft: Draft, row: Row, half_digit: float) -> None:
        """Note each word that the lab wrote against the value of this row."""
        for number_, texts in self.against.items():
            text = row[number_ - 1][0].strip() if len(row) >= number_ else ""
            if text in texts:
                column = next(c for c in self.reading.columns if c.number == number_)
                facts = {"column": column.heading or f"column {column.letter}", "said": repr(text)}
                draft.noted.append(Noted(FindingKind.LAB_SAYS_NO, facts))
        taxa = self.reading.layout.taxa
        meant = class_meant(self._in_full(draft.lab_class), taxa) if draft.lab_class else None
        least = LEAST_PURE if draft.lab_class and re.search(r"\bpure\b", plain(draft.lab_class)) else 0.5
        if draft.q is not None and (
            (meant == taxa.taxon and draft.q < least)
            or (meant == taxa.other_taxon and draft.q > 1 - least)
            or no_cross(meant, draft.q, half_digit, draft.n_loci)
        ):
            draft.noted.append(
                Noted(FindingKind.CLASS_CONTRADICTS, {"lab_class": draft.lab_class, "q": draft.q})
            )

    def _compare(
        self, draft: Draft, counted: tuple[float, float, int], halves: dict[ColumnRole, CellValue]
    ) -> None:
        """Hold what the row states against its genotypes, and take from them what it does not state."""
        stated_q = ColumnRole.Q in self.column
        if stated_q and draft.q is None:
            return  # the lab gives no result, whatever calls it made
        h = halves.get(ColumnRole.HETEROZYGOSITY, NOTHING)
        draft.noted += compare_counted(
            counted, draft.q, draft.heterozygosity, draft.n_loci, halves[ColumnRole.Q].half_digit if stated_q else 0.0,
            h.half_digit, self.reading.layout.taxa.other_taxon,
        )  # fmt: skip
        if not stated_q:
            draft.q = counted[0]
        if draft.heterozygosity is None and not h.fault and not h.word:
            draft.heterozygosity = counted[1]
        if draft.n_loci is None:
            draft.n_loci = counted[2]

    def _failure(self, row: Row, halves: dict[ColumnRole, CellValue]) -> str:
        remarks = [row[c.number - 1][0].strip() for c in self.remarks if len(row) >= c.number]
        word = halves[ColumnRole.Q].word if ColumnRole.Q in halves else ""
        return "; ".join(dict.fromkeys(text for text in (word, *remarks) if text)) or LEFT_BLANK
