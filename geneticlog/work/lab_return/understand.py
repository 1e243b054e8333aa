"""Understand a lab's file: its sheet, how it is read, what each row says, and the account of everything in it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from geneticlog.errors import SheetFault
from geneticlog.rules.finding.finding_kinds import FindingKind
from geneticlog.rules.lab_return.account.account import account_of
from geneticlog.rules.lab_return.account.account_of_formulas import formulas_against
from geneticlog.rules.lab_return.account.account_of_marks import EARLIER, rows_against, shown_again
from geneticlog.rules.lab_return.account.captions import is_caption
from geneticlog.rules.lab_return.account.doubtful_texts import ask_about_lines, ask_about_names
from geneticlog.rules.lab_return.account.other_jobs import (
    mostly_before_sending,
    older_than_before,
    rows_of_odd_dates,
    rows_of_other_days,
    rows_of_other_shipments,
    rows_too_early,
)
from geneticlog.rules.lab_return.account.other_lakes import rows_of_other_lakes
from geneticlog.rules.lab_return.account.other_names import account_of_names
from geneticlog.rules.lab_return.cells.cells import number
from geneticlog.rules.lab_return.columns.column_values import parts_of_one_whole
from geneticlog.rules.lab_return.columns.third_lineage import third_shares
from geneticlog.rules.lab_return.doubts_of_files.class_probabilities import class_probabilities
from geneticlog.rules.lab_return.doubts_of_files.controls_against import (
    Controls,
    controls_against,
    controls_among,
)
from geneticlog.rules.lab_return.doubts_of_files.copied_down import note_copied_down
from geneticlog.rules.lab_return.doubts_of_files.lines_against import doubt_in_line
from geneticlog.rules.lab_return.doubts_of_files.loci_against import loci_against
from geneticlog.rules.lab_return.doubts_of_files.odd_columns import (
    against_its_heading,
    below_one_allele,
    same_twice,
    what_is_left,
)
from geneticlog.rules.lab_return.doubts_of_files.odd_shares import no_tens, one_value, too_alike, zeros_apart
from geneticlog.rules.lab_return.doubts_of_files.of_another_shipment import note_of_another_shipment
from geneticlog.rules.lab_return.doubts_of_files.often_again import often_again
from geneticlog.rules.lab_return.doubts_of_files.own_numbers import own_numbers
from geneticlog.rules.lab_return.doubts_of_files.reference_fish import references_against
from geneticlog.rules.lab_return.doubts_of_files.regular_shares import (
    each_twice,
    even_steps,
    few_values,
    own_ranks,
)
from geneticlog.rules.lab_return.doubts_of_files.sorted_alone import sorted_alone
from geneticlog.rules.lab_return.doubts_of_files.tables_beside import tables_beside
from geneticlog.rules.lab_return.doubts_of_files.turned_block import turned_block
from geneticlog.rules.lab_return.doubts_of_files.turned_tables import (
    against_known_fish,
    clusters_of_tables,
    tables_of,
    turned_from_a_row,
    turned_tables,
)
from geneticlog.rules.lab_return.doubts_of_files.unlike_earlier import n_changed, unlike_earlier
from geneticlog.rules.lab_return.doubts_of_files.whole_numbers import (
    exchanged,
    only_0_and_1,
    only_quarters,
    whole_numbers,
)
from geneticlog.rules.lab_return.doubts_of_rows.cut_off import cut_off
from geneticlog.rules.lab_return.doubts_of_rows.far_from_others import far_from_others
from geneticlog.rules.lab_return.doubts_of_rows.genotypes_beside import turned_beside_genotypes
from geneticlog.rules.lab_return.doubts_of_rows.kept_words import account_of_kept, words_seen
from geneticlog.rules.lab_return.doubts_of_rows.known_fish import known_against, known_turned_round
from geneticlog.rules.lab_return.doubts_of_rows.lost_points import lost_points
from geneticlog.rules.lab_return.doubts_of_rows.made_of_runs import made_of_runs
from geneticlog.rules.lab_return.doubts_of_rows.odd_rows import odd_rows
from geneticlog.rules.lab_return.doubts_of_rows.odd_sums import (
    longer_heading,
    odd_sums,
    shorter_rows,
    single_below_one_allele,
)
from geneticlog.rules.lab_return.doubts_of_rows.other_codes import other_codes
from geneticlog.rules.lab_return.doubts_of_rows.other_measures import measures_of_others, other_measures
from geneticlog.rules.lab_return.doubts_of_rows.other_shares import other_shares
from geneticlog.rules.lab_return.doubts_of_rows.own_limits import (
    beyond_any_error,
    far_wider,
    outside_interval_behind,
    outside_its_interval,
    outside_its_limits,
    wide_error_behind,
)
from geneticlog.rules.lab_return.doubts_of_rows.own_records import (
    other_media,
    other_numbers,
    other_sites,
    other_tissues,
    other_years,
    sites_of_others,
    tissues_of_others,
)
from geneticlog.rules.lab_return.doubts_of_rows.repeated_numbers import repeated_numbers
from geneticlog.rules.lab_return.doubts_of_rows.replicate_means import (
    MEANS,
    Means,
    question_of_means,
    replicate_means,
    without_replicates,
)
from geneticlog.rules.lab_return.doubts_of_rows.slipped import slipped
from geneticlog.rules.lab_return.drafts.counted_of import note_other_sums
from geneticlog.rules.lab_return.drafts.draft import Draft
from geneticlog.rules.lab_return.drafts.drafts import Drafter
from geneticlog.rules.lab_return.drafts.few_called import hold_few_called, note_other_loci
from geneticlog.rules.lab_return.drafts.held_lines import note_held_lines, note_whole_file
from geneticlog.rules.lab_return.drafts.longer_codes import KEY, ask_about_codes
from geneticlog.rules.lab_return.drafts.marked import note_marked, note_struck
from geneticlog.rules.lab_return.drafts.panel_loci import give_panel_loci
from geneticlog.rules.lab_return.drafts.unit_in_doubt import note_mostly_impossible, note_unit_in_doubt
from geneticlog.rules.lab_return.sheet.account_items import (
    ASKED,
    HARMLESS,
    HELD,
    USED,
    Account,
    Item,
    SheetMarks,
    answers_about,
    lines_of,
)
from geneticlog.rules.lab_return.sheet.reading import Question, Reading, is_code
from geneticlog.rules.lab_return.words.headings import plain
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.lab_return.words.roles import ColumnRole
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.result.result_states import Outcome
from geneticlog.store.sheets import EMPTY, Sheet, read_sheets
from geneticlog.work.lab_return.known_before.expected import Expected
from geneticlog.work.lab_return.sheets.by_well import (
    in_order_with_wells,
    note_other_wells,
    question_of_wells,
    refuse_other_wells,
    wells_of_others,
)
from geneticlog.work.lab_return.sheets.key_sheet import LINE_NUMBERS, question_of_lines
from geneticlog.work.lab_return.sheets.lab_sheet import find_lab_sheet
from geneticlog.work.lab_return.sheets.other_taxon import questions_of_tables, tables_held
from geneticlog.work.lab_return.sheets.same_vials import is_of_results, says_the_same

LEAST_UNREAD, MOSTLY_UNREAD = 4, 0.9  # values that are no numbers, and their share of all, to refuse a column
MOST_LINES = 200  # of a sheet that is not read, looked at for words that change the meaning of another one
NOT_WHOLE = "not whole numbers"
UNLIKE = "unlike before"
SWAPPED = "columns as headed"
ONLY_0_AND_1 = "only 0 and 1"
ONLY_QUARTERS = "only quarters"
FEW_VALUES = "few different shares"
EVEN_STEPS = "one step from share to share"
EACH_TWICE = "each share twice"
OF_CLASSES = "probabilities of classes"
REFERENCES = "reference fish"
ZEROS, NO_TENS, LOCI = "shares of exactly 0", "no whole tens", "loci against the others"
GENOTYPES = "genotypes beside the shares"
MEASURES = "lengths and weights"
SORTED = "in the order of the codes"
SORTED_CODES = "codes and wells in order"
CLUSTERS, TURNED = "clusters of each table", "a table of the other taxon"
ONE_VALUE, OWN = "one share for all", "numbers of the fish"
CONTROLS = "blanks and duplicates"
EARLIER_FILE = "unlike an earlier file"
SHORT_ROWS = "rows shorter than the heading"
SAME_TWICE, LEFT = "the same as heterozygosity", "shares and what they leave"
BELOW_ONE, HEADING = "less than one allele", "the taxon of the heading"
EARLY, OLDER = "dated before the sending", "dated before an earlier file"
SITES, TISSUES = "sites of the fish", "tissue of the vials"
WELLS = "wells of other vials"
SAME_ROWS = "vials and shares in one row"

# what speaks against the values themselves, and is seldom right as it is
_HOLD_FIRST = (
    SHORT_ROWS,
    CONTROLS,
    CLUSTERS,
    TURNED,
    EARLIER_FILE,
    OLDER,
    REFERENCES,
    SORTED,
    EACH_TWICE,
    EVEN_STEPS,
    ONE_VALUE,
    OWN,
    WELLS,
)

_OF_ROWS = (  # rules that say, by row, what in the columns beside a share casts doubt on it
    other_codes, other_shares, made_of_runs, far_from_others, odd_rows, third_shares, outside_its_limits,
    outside_its_interval, outside_interval_behind, wide_error_behind, far_wider, beyond_any_error, repeated_numbers,
    rows_of_odd_dates, lost_points,
)  # fmt: skip
# and rules that hold them against what we know of the fish
_OF_KNOWN = (other_measures, other_numbers, other_tissues, other_media, other_sites, other_years)


@dataclass(frozen=True)
class Understood:
    """A lab's file as it is read; while the reading has questions there are no drafts."""

    sheet: Sheet
    reading: Reading
    account: Account
    drafts: list[Draft]
    loci_from_panel: bool = False


def understand(
    content: bytes,
    file_name: str,
    layout: Layout,
    expected: Expected,
) -> Understood:
    """Return what a lab's file says, with every open question in its reading.

    expected
        What is known of the shipment that it is about.
    raises
        SheetFault for a file that cannot be read, or that is a heading and nothing else.
    """
    sheets = read_sheets(content, file_name)
    sheet, reading = find_lab_sheet(sheets, layout, file_name, expected.places)
    marks = _marks(sheet, sheets, reading, file_name)
    account, questions = account_of(reading, sheet.rows, marks)
    account, of_texts = _ask_about_texts(
        _with_key(account, sheet, sheets, reading.layout), reading, sheet, marks, expected
    )
    questions += of_texts
    questions += question_of_wells(sheet, reading.layout)
    questions += questions_of_tables(sheet, reading.layout)
    questions += question_of_lines(sheet, sheets, reading.layout)
    means = replicate_means(reading, sheet.rows)
    of_means, asked_of_means = question_of_means(reading, means)
    account = Account((*account.items, *of_means))
    reading = replace(reading, questions=(*reading.questions, *questions, *asked_of_means))
    if reading.questions:
        return Understood(sheet, reading, account, [])
    refuse_without_samples(reading)
    refuse_two_shares(reading, sheet)
    reading = _without_rows(reading, sheet, means)
    drafter = Drafter(reading, expected.sent or (), expected.panel_loci, expected.rule_set)
    drafts = list(drafter.drafts(sheet.rows))
    refuse_shares_without_q(reading, drafts, sheet)
    refuse_uncalculated(reading, drafts)
    refuse_no_numbers(reading, drafts)
    refuse_other_wells(drafts, sheet, reading)
    from_panel = give_panel_loci(drafts, expected.panel_loci)
    _note_means(drafts, reading, means)
    _note_what_the_file_says(drafts, reading, sheet, marks, content, expected)
    _note_what_we_know(drafts, reading, sheet, expected)
    ours = [draft for draft in drafts if expected.sent is None or draft.code in expected.sent]
    note_marked(ours, rows_of_other_lakes(reading, sheet.rows, expected.lakes))
    early = rows_too_early(reading, sheet.rows, expected.job)
    entered_late = mostly_before_sending(early, len(drafts), expected.job)
    note_marked(ours, {} if entered_late else early)
    note_marked(ours, rows_of_other_shipments(reading, sheet.rows, expected.job))
    account, questions = _test_numbers(account, reading, drafts, sheet, expected, entered_late)
    questions += (asked := ask_about_codes(drafts, reading.layout))
    of_codes = [Item("codes", "the codes", KEY, ASKED, q.text, q.options) for q in asked]
    if word := drafter.before_all:
        why = "it is before every code, and what follows is a code of ours with its check character"
        of_codes.append(Item("codes", "the codes", word, HARMLESS, why))
    account = Account((*account.items, *of_codes))
    seen = words_seen(reading, sheet.rows)
    reading = replace(reading, questions=tuple(questions), layout=replace(reading.layout, seen=seen))
    return Understood(sheet, reading, account, [] if questions else drafts, from_panel)


def _without_rows(reading: Reading, sheet: Sheet, means: Means | None) -> Reading:
    """The reading without the rows that a person leaves out: an earlier run, and replicates beside their mean."""
    if reading.layout.changes_nothing(EARLIER) and shown_again(reading, sheet.rows, sheet.hidden_rows):
        kept = tuple(n for n in reading.data_rows if n not in sheet.hidden_rows)
        reading = replace(reading, data_rows=kept)
    return replace(reading, data_rows=without_replicates(reading, means))


def _note_means(drafts: Sequence[Draft], reading: Reading, means: Means | None) -> None:
    """Note on the drafts what is odd of means beside their replicates, or that a person holds them."""
    note_marked(drafts, means.doubts if means else {})
    if means and reading.layout.casts_doubt(MEANS):
        note_whole_file(drafts, ["its rows are replicates and their mean"])


def _note_what_the_file_says(
    drafts: Sequence[Draft],
    reading: Reading,
    sheet: Sheet,
    marks: SheetMarks,
    content: bytes,
    expected: Expected,
) -> None:
    """Note on the drafts what the rest of the file says against their values."""
    note_other_sums(drafts, reading, sheet.rows)
    hold_few_called(drafts, expected.panel_loci)
    note_other_loci(drafts)
    note_struck(drafts, reading, sheet.struck)
    note_marked(drafts, rows_against(reading, marks))
    note_marked(drafts, tables_held(sheet, reading.layout))
    note_marked(drafts, formulas_against(reading, sheet.rows, marks))
    for rule in _OF_ROWS:
        note_marked(drafts, rule(reading, sheet.rows))
    if sheet.separator and not (sheet.grid or sheet.turned or sheet.tall):
        note_marked(drafts, shorter_rows(reading, sheet.rows))
        note_marked(drafts, cut_off(content, reading, sheet.rows))
    note_marked(drafts, slipped(drafts, lambda row: reading.sheet_rows.words([row])))
    note_held_lines(drafts, reading, sheet.rows, marks)
    if reading.layout.casts_doubt(LINE_NUMBERS):
        note_whole_file(drafts, [f"the key of sheet {sheet.keyed_by} goes by the numbers of lines"])
    note_unit_in_doubt(drafts, reading, sheet.rows)
    note_mostly_impossible(drafts)
    note_marked(drafts, turned_beside_genotypes(reading, sheet.rows)[0])
    note_marked(drafts, turned_block(drafts, reading.layout.taxa))
    note_marked(drafts, odd_sums(drafts))
    note_marked(drafts, single_below_one_allele(drafts, expected.panel_loci))
    note_marked(drafts, often_again(drafts, expected.panel_loci))
    note_copied_down(drafts, partial(expected.known, drafts))


def _note_what_we_know(drafts: Sequence[Draft], reading: Reading, sheet: Sheet, expected: Expected) -> None:
    """Note on the drafts what is otherwise in our records."""
    note_other_wells(drafts, reading, sheet, expected.places)
    for of_known in _OF_KNOWN:
        note_marked(drafts, of_known(reading, sheet.rows, partial(expected.known, drafts)))
    note_marked(drafts, rows_of_other_days(reading, sheet.rows, partial(expected.known, drafts, "caught_on")))
    kinds = expected.known(drafts, "kind")
    note_marked(drafts, known_against(drafts, kinds, reading.layout.taxa))
    tables = tables_of(drafts, reading, sheet.parts)
    note_marked(drafts, against_known_fish(tables, kinds, reading.layout.taxa))
    ours = [draft for draft in drafts if draft.code in (expected.sent or {})]
    places = {code: i for i, code in enumerate(expected.in_order())} if expected.elsewhere else {}
    note_of_another_shipment(ours, expected.elsewhere, places, expected.known(ours, "fish_id"))


def _ask_about_texts(
    account: Account, reading: Reading, sheet: Sheet, marks: SheetMarks, expected: Expected
) -> tuple[Account, list[Question]]:
    """The account with a question for each line, and each name in a column, that is not of this shipment."""
    of_rows = doubt_in_line(reading, sheet.rows, expected.panel_loci)
    account, of_lines = ask_about_lines(
        account, reading, lambda line: of_rows(line) or expected.doubt_in(line)
    )
    account, of_files = ask_about_names(account, marks.names, reading.layout, expected.doubt_in)
    items, of_names = account_of_names(
        reading, sheet.rows, expected.names, lambda text: bool(expected.lakes.other_in(text))
    )
    of_kept, of_words = account_of_kept(reading, sheet.rows)
    return Account((*account.items, *items, *of_kept)), [*of_lines, *of_files, *of_names, *of_words]


def _with_key(account: Account, sheet: Sheet, sheets: Sequence[Sheet], layout: Layout) -> Account:
    """The account with the sheet that gave the rows their vials, and what rows of a tall table became."""
    more = []
    if sheet.keyed_by:
        more.append(
            Item("sheet", sheet.keyed_by, "", USED, "it says which of the lab's numbers is which vial")
        )
    if sheet.tall:
        more.append(Item("rows", "the whole table", "", USED, "several rows of one fish are read as one"))
    if sheet.turned:
        why = "it has a column for each sample, and each is read as a row: row 4 is column D, where no title is above"
        more.append(Item("rows", f"sheet {sheet.name}" if sheet.name else "the whole table", "", USED, why))
    more += [Item("rows", where, "", USED, why) for where, why in sheet.put_together]
    for part in sheet.parts:
        if part.headings:
            heads = ", ".join(text for text in part.headings.values() if text)
            why = "it is read by its own headings, and is one table with the rest"
            more.append(Item("rows", part.words, heads, USED, why))
    if sheet.grid:
        why = "it is laid out as a plate, and each well is read as a row: row 503 is row 5, column 3"
        more.append(Item("rows", f"sheet {sheet.name}" if sheet.name else "the whole table", "", USED, why))
    for question in question_of_lines(sheet, sheets, layout):
        more.append(Item("sheet", sheet.keyed_by, "", ASKED, question.text, question.options))
    for question in question_of_wells(sheet, layout):
        more.append(Item("wells", sheet.well_column, "", ASKED, question.text, question.options))
    for question in questions_of_tables(sheet, layout):
        more.append(Item("rows", "a further table", "", ASKED, question.text, question.options))
    if sheet.by_well and layout.wells:
        why = f"{sheet.by_well}; a person or the lab's layout says that the vials stayed there"
        more.append(Item("wells", f"column {sheet.well_column}", "", USED, why))
    return Account((*account.items, *more))


def _marks(sheet: Sheet, sheets: Sequence[Sheet], reading: Reading, file_name: str) -> SheetMarks:
    of_sheets = reading.sheet_rows.sheets and not sheet.sheet_rows.sheets
    taken = set(reading.sheet_rows.sheets) if of_sheets else {sheet.name}
    heading = [plain(column.heading) for column in reading.columns if column.heading]
    layout = reading.layout
    to_choose = {
        name for asked in reading.questions for setting, _, name in asked.choices if setting == "sheet"
    }

    def _says_no_more(each: Sheet) -> bool:
        """Whether the rows of a sheet are known: those of a key, and results beside a sheet that a person chooses."""
        chosen = bool(layout.sheets) and is_of_results(each, layout)
        known = each.name in (sheet.keyed_by, sheet.beside) or each.name in to_choose
        return known or chosen or (not each.hidden and says_the_same(each, sheet, reading))

    others = tuple(
        (each.name, each.hidden, _lines_of_key(each) if _says_no_more(each) else _lines(each))
        for each in sheets
        if each.filled
        and each.name not in taken
        and not _is_empty_plate(each, heading)
        and not (each.name == sheet.beside and not _lines_of_key(each))
    )
    return SheetMarks(
        sheet.struck,
        sheet.hidden_rows,
        sheet.hidden_columns,
        sheet.colours,
        sheet.comments,
        sheet.merged,
        sheet.rules,
        others,
        (("file", file_name), *(("sheet", name) for name in sorted(filter(None, taken)))),
        sheet.notes,
        sheet.areas,
        sheet.properties,
        sheet.formulas,
        sheet.is_protected,
    )


def _is_empty_plate(sheet: Sheet, heading: Sequence[str]) -> bool:
    """Whether a sheet is the heading of the samples and nothing below it."""
    filled = [row for row in sheet.rows if any(cell.kind != "empty" for cell in row)]
    return bool(filled) and [plain(cell.text) for cell in filled[-1] if cell.kind != "empty"] == heading


def _lines_of_key(sheet: Sheet) -> tuple[str, ...]:
    """The lines of a key that name no vial, without its heading: what it says of each vial is beside the results."""
    named = [n for n, row in enumerate(sheet.rows) if any(is_code(cell.text) for cell in row)]
    top = next((n for n in range(named[0] - 1, -1, -1) if sheet.rows[n]), -1) if named else -1
    rest = [row for n, row in enumerate(sheet.rows) if n != top and n not in set(named)]
    return _lines(replace(sheet, rows=rest))


def _lines(sheet: Sheet) -> tuple[str, ...]:
    rows = (
        " | ".join(cell.text.strip() for cell in row if cell.kind != "empty")
        for row in sheet.rows[:MOST_LINES]
    )
    return tuple(
        dict.fromkeys(
            text[:200]
            for text in (
                *rows,
                *(text for where, text in sheet.notes if not is_caption(where)),
                *sheet.comments.values(),
            )
            if text
        )
    )


def _test_numbers(
    account: Account,
    reading: Reading,
    drafts: Sequence[Draft],
    sheet: Sheet,
    expected: Expected,
    entered_late: str,
) -> tuple[Account, list[Question]]:
    """Add to the account what the shares of the whole file come to, and ask where a careful person would."""
    layout = reading.layout
    items, questions = list(account.items), []
    tests = _tests_of(reading, drafts, sheet, expected, entered_late, lines_of(account))
    for key, fails, words in tests:
        if not fails:
            items.append(Item("numbers", "the whole file", key, USED, words))
        elif layout.changes_nothing(key):
            items.append(
                Item("numbers", "the whole file", key, HARMLESS, f"{words}; a person says that it is right")
            )
        elif layout.casts_doubt(key):
            items.append(Item("numbers", "the whole file", key, HELD, f"{words}; they wait for a decision"))
            note_whole_file(drafts, [f"the whole file: {_what_is_seen(words)}"])
        else:
            question = _question_of_numbers(key, words, reading)
            questions.append(question)
            items.append(Item("numbers", "the whole file", key, ASKED, words, question.options))
    return Account(tuple(items)), questions


def _what_is_seen(words: str) -> str:
    """What a question says is seen, without what it asks behind the last colon."""
    return words.rsplit(": ", 1)[0]


def _tests_of(
    reading: Reading,
    drafts: Sequence[Draft],
    sheet: Sheet,
    expected: Expected,
    entered_late: str,
    lines: Sequence[str],
) -> list[tuple[str, bool, str]]:
    """Return the tests of the whole file: the key of its answer, whether it fails, and what is seen."""
    whole, turned = whole_numbers(drafts), exchanged(drafts)
    taxa = reading.layout.taxa
    kinds = expected.known(drafts, "kind")
    ours = [draft for draft in drafts if expected.sent is None or draft.code in expected.sent]
    waters = expected.known(drafts, "survey_id")
    no_order = controls_against(ours, _controls(ours, expected), taxa)
    tables = tables_of(drafts, reading, sheet.parts)
    as_laid_out = not (sheet.keyed_by or sheet.grid or sheet.turned or sheet.tall)
    seen = {
        SWAPPED: turned.words if turned.fails else "",
        ONLY_0_AND_1: only_0_and_1(drafts),
        ONLY_QUARTERS: only_quarters(drafts),
        ONE_VALUE: one_value(ours) or too_alike(ours, expected.panel_loci),
        OWN: own_numbers(reading, sheet.rows, partial(expected.known, drafts)),
        FEW_VALUES: few_values(drafts),
        EVEN_STEPS: even_steps(drafts) or own_ranks(drafts),
        EACH_TWICE: each_twice(drafts),
        ZEROS: zeros_apart(drafts),
        NO_TENS: no_tens(drafts),
        LOCI: loci_against(drafts),
        OF_CLASSES: class_probabilities(reading, sheet.rows),
        REFERENCES: references_against(drafts, taxa)
        or ("" if no_order else known_turned_round(drafts, kinds, taxa)),
        CONTROLS: no_order,
        CLUSTERS: clusters_of_tables(tables, reading, kinds),
        TURNED: turned_tables(tables, waters) or turned_from_a_row(ours, waters),
        GENOTYPES: turned_beside_genotypes(reading, sheet.rows)[1],
        MEASURES: measures_of_others(reading, sheet.rows, partial(expected.known, drafts)),
        SITES: sites_of_others(reading, sheet.rows, partial(expected.known, drafts)),
        TISSUES: tissues_of_others(reading, sheet.rows, partial(expected.known, drafts)),
        WELLS: wells_of_others(drafts, reading, sheet, expected),
        SORTED: sorted_alone(drafts, expected.in_order()),
        SORTED_CODES: in_order_with_wells(drafts, reading, sheet, expected),
        SAME_ROWS: tables_beside(reading, sheet.rows) if as_laid_out else "",
        SAME_TWICE: same_twice(drafts),
        LEFT: what_is_left(reading, sheet.rows),
        BELOW_ONE: below_one_allele(drafts, expected.panel_loci),
        HEADING: against_its_heading(drafts, reading),
        EARLY: entered_late,
        SHORT_ROWS: longer_heading(reading, sheet.rows) if sheet.separator and as_laid_out else "",
        OLDER: older_than_before(lines, n_changed(drafts, expected.said_before), expected.dated_before),
        EARLIER_FILE: unlike_earlier(drafts, expected.said_before),
        UNLIKE: expected.unlike_before(ours),
    }
    return [
        (NOT_WHOLE, whole.fails, whole.words),
        *((key, True, words) for key, words in seen.items() if words),
    ]


def _controls(ours: Sequence[Draft], expected: Expected) -> Controls:
    roles, kinds = expected.known(ours, "role"), expected.known(ours, "kind")
    blanks = {row: role == VialRole.BLANK for row, role in roles.items()}
    return controls_among(ours, blanks, expected.known(ours, "fish_id"), kinds)


def _question_of_numbers(key: str, words: str, reading: Reading) -> Question:
    """Ask about the numbers of a whole file; ``harmless`` with the key says that they are right as they are."""
    right, hold = answers_about(key)
    if key not in (NOT_WHOLE, UNLIKE, BELOW_ONE):
        # what a person said of the taxon is no answer again
        turned = (
            key == REFERENCES
            and not reading.layout.taxon_of_q
            and reading.column(ColumnRole.OTHER_Q) is None  # else that one is turned round, too
        )
        other = (("taxon", "", reading.layout.taxa.other_taxon),) if turned else ()
        first = (hold, right) if key in _HOLD_FIRST else (right, hold)
        return Question(words, (*other, *first) if key == REFERENCES else (*first, *other))
    q = reading.column(ColumnRole.Q)
    answered = ColumnRole.Q in reading.layout.units  # then the other unit is no answer again
    units = [("unit", "q", one) for one in ("percent", "fraction") if q and one != q.unit and not answered]
    text = f"{f'in {q.unit}, ' if q and q.unit else ''}{words}: is it another unit, other loci or another column?"
    first = (right, hold) if key == NOT_WHOLE else (hold, right)
    return Question(text, (*first, *units))


def refuse_without_samples(reading: Reading) -> None:
    """Raise SheetFault for a file that is a heading and nothing else."""
    if not reading.data_rows:
        raise SheetFault(
            "there is no sample below the heading", file=reading.file, row=reading.heading_row or None
        )


def refuse_two_shares(reading: Reading, sheet: Sheet) -> None:
    """Raise SheetFault where each cell holds the shares of both taxa: 40/60 is no forty of sixty."""
    q = reading.column(ColumnRole.Q)
    both = parts_of_one_whole([q.text_in(sheet.rows[n - 1]) for n in reading.data_rows]) if q else ""
    if q and both:
        raise SheetFault(
            f"each cell holds two shares that make one whole (the first is {both!r})",
            file=reading.file,
            sheet=reading.sheet or None,
            column=q.named,
            way_out="part it into two columns, one for each taxon, or ask the lab for that",
        )


def refuse_shares_without_q(reading: Reading, drafts: Sequence[Draft], sheet: Sheet) -> None:
    """Raise SheetFault where every sample seems to have failed, yet other columns hold shares of its
    alleles."""
    column = reading.column(ColumnRole.Q)
    if column is None or any(draft.outcome != Outcome.FAILED for draft in drafts):
        return
    for role in ("other_q", "third_q", "heterozygosity"):
        other = reading.column(role)
        if other is None:
            continue
        for draft in drafts:
            row = sheet.rows[draft.row - 1]
            cell = row[other.number - 1] if len(row) >= other.number else EMPTY
            found = number(cell.text, "." if cell.kind == "number" else reading.decimal)
            if found is not None and found.value > 0:
                its_sheet, its_row = reading.sheet_rows.place(draft.row)
                raise SheetFault(
                    f"no sample has a value here, yet column {other.heading or other.letter} has numbers, so"
                    " they did not all fail",
                    file=reading.file,
                    sheet=its_sheet or reading.sheet or None,
                    row=its_row,
                    column=column.heading or column.letter,
                    way_out="name the column of the share with --column q=HEADING, or ask the lab for it",
                )


def refuse_no_numbers(reading: Reading, drafts: Sequence[Draft]) -> None:
    """Raise SheetFault where nearly every share is a text that is no number: one sentence, and no finding for each."""
    column = reading.column(ColumnRole.Q)
    if column is None:
        return
    unread = [
        (draft.row, noted.facts["written"])
        for draft in drafts
        for noted in draft.noted
        if noted.kind == FindingKind.UNREADABLE_VALUE and noted.facts.get("column") == column.named
    ]
    if len(unread) >= LEAST_UNREAD and len(unread) >= MOSTLY_UNREAD * len(drafts):
        sheet, row = reading.sheet_rows.place(unread[0][0])
        raise SheetFault(
            f"{len(unread)} of {len(drafts)} values are not numbers (the first is {unread[0][1]})",
            file=reading.file,
            sheet=sheet or reading.sheet or None,
            row=row,
            column=column.named,
            way_out="ask the lab for one plain number in each row, or name another column with --column q=HEADING",
        )


def refuse_uncalculated(reading: Reading, drafts: Sequence[Draft]) -> None:
    """Raise SheetFault where every share is a formula that was never calculated."""
    column = reading.column(ColumnRole.Q)
    if column is None or not drafts:
        return
    name = column.heading or column.letter
    if all(any(one.kind == FindingKind.FORMULA_WITHOUT_VALUE and one.facts.get("column") == name for one in draft.noted)
           for draft in drafts):  # fmt: skip
        raise SheetFault(
            "its values are formulas that were never calculated",
            file=reading.file,
            sheet=reading.sheet or None,
            column=name,
            way_out="open the file in a spreadsheet program and save it, then read it again",
        )
