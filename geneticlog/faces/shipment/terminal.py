"""What is said of shipments at the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from geneticlog.faces.app.desk import say_table, say_wrapped
from geneticlog.rules.label.vial_states import VialRole
from geneticlog.rules.sentences import n_of
from geneticlog.rules.shipment.custody import ShipmentStanding
from geneticlog.rules.shipment.plates import CONTAINERS, ORDERS
from geneticlog.rules.vialcode import printed
from geneticlog.settings import local_time

if TYPE_CHECKING:
    from geneticlog.rules.lab_return.drafts.return_counts import Counts
    from geneticlog.rules.shipment.ethanol import EthanolNote
    from geneticlog.work.shipment.compare_duplicates import Compared
    from geneticlog.work.shipment.follow import Cost, Follow, Seat
    from geneticlog.work.shipment.owed_fish import Lost
    from geneticlog.work.shipment.pack import Packed


ROLES = {VialRole.SAMPLE: "", VialRole.BLIND_DUPLICATE: "duplicate", VialRole.BLANK: "blank"}


def amber(sentences: Iterable[str]) -> None:
    """Say a caution in amber; the sign stands before it where there are no colours."""
    for sentence in sentences:
        say_wrapped(f"! {sentence}", "  ", fg="yellow")


def contents_in_words(n_samples: int, n_blind_duplicates: int, n_blanks: int) -> str:
    """Return what a shipment holds, for the office; the lab is not told."""
    parts = (
        n_of(n_samples, "sample"),
        n_of(n_blind_duplicates, "blind duplicate"),
        n_of(n_blanks, "blank"),
    )
    return ", ".join(parts)


def said_of_packing(packed: Packed, ethanol: EthanolNote | None) -> None:
    held = CONTAINERS[packed.container]
    places = f"{packed.n_containers} x {held.printed}" if held.capacity else held.printed
    n_vials = n_of(packed.n_vials, "vial")
    say_wrapped(f"Shipment {packed.shipment} to {packed.lab}: {n_vials} ({packed.n_new} new) in {places}.")
    click.echo("  " + contents_in_words(packed.n_samples, packed.n_blind_duplicates, packed.n_blanks))
    if packed.dealt_anew:
        say_wrapped("  The places of all vials were dealt again: print the picking list again.", "  ")
    if packed.n_other_species:
        amber(
            [
                f"{n_of(packed.n_other_species, 'vial')} of fish of another species than their survey's: the panel"
                " is not made for them. Take them out with geneticlog shipment unpack, or correct the fish."
            ]
        )
    if packed.gives_away:
        amber([f"The lab could tell: {told}." for told in packed.gives_away])
    if packed.n_blind_duplicates < packed.duplicates_advised:
        amber(
            [
                f"{packed.duplicates_advised} blind duplicates are advised (5 %, at least 2): "
                "second vials of the same fish, taken on the boat."
            ]
        )
    if packed.n_blanks < packed.blanks_advised:
        amber(
            [
                f"{packed.blanks_advised} blank is advised: a printed vial of preservative, packed with "
                "--add --blank VIAL."
            ]
        )
    if ethanol:
        amber(ethanol.sentences)
    amber(medium_warnings(packed.shipment, packed.n_without_medium))
    click.echo(f"Next: geneticlog shipment manifest {packed.shipment}")


def medium_warnings(shipment: str, n_without_medium: int) -> list[str]:
    """Return the warning that it is not known whether vials hold ethanol, with the way out; [] when all say it."""
    if not n_without_medium:
        return []
    do = "does not say what it is" if n_without_medium == 1 else "do not say what they are"
    return [
        f"{n_of(n_without_medium, 'vial')} {do} kept in, so it is not known whether ethanol must be"
        f" declared to the carrier. Record it: geneticlog correct shipment {shipment} --medium ethanol --why TEXT"
        " (or dry, or buffer)."
    ]


def said_of_shipment(
    document: Mapping[str, Any],
    at_a_glance: Follow,
    cost: Cost,
    ethanol: EthanolNote | None,
    placed: Sequence[Seat],
    pairs: Compared,
) -> None:
    kind = CONTAINERS[document["container"]]
    order = f", filled {ORDERS[document['filling_order']]}" if kind.capacity else ""
    click.echo(f"Shipment {at_a_glance.shipment} to {document['lab_name']}: {at_a_glance.state}")
    holds = contents_in_words(document["n_samples"], document["n_blind_duplicates"], document["n_blanks"])
    say_wrapped(f"  {n_of(at_a_glance.n_vials, 'vial')} in {kind.printed}{order}: {holds}", "    ")
    click.echo(f"  packed {local_time(document['packed_at'])} by {document['packed_by']}")
    if at_a_glance.sent_at:
        way = " ".join(filter(None, [document["carrier"], document["tracking"]]))
        say_wrapped(
            f"  sent {local_time(at_a_glance.sent_at)} by {document['sent_by']}" + (f", {way}" if way else "")
        )
    if at_a_glance.arrived_at:
        how = ", ".join(filter(None, [document["received_by"], document["arrival_condition"]]))
        click.echo(f"  arrived {local_time(at_a_glance.arrived_at)}" + (f", {how}" if how else ""))
    if at_a_glance.days_out is not None:
        closed = at_a_glance.standing == ShipmentStanding.CLOSED
        until = "until it was closed" if closed else "until the return was complete"
        until = until if closed or at_a_glance.complete else "so far"
        days = n_of(at_a_glance.days_out, "day")
        click.echo(f"  out {days} {until}")
    counts = at_a_glance.counts
    if counts:
        say_wrapped(
            f"  returned {counts.returned} of {counts.sent}: {counts.matched} matched, {counts.failed} failed, "
            f"{counts.conflicting} conflicting; {counts.missing} missing, {counts.unexpected} unexpected",
            "    ",
        )
        if counts.blanks:
            say_wrapped(f"  {blanks_in_words(counts)}", "    ")
    if at_a_glance.n_open_findings:
        click.echo(
            f"  {n_of(at_a_glance.n_open_findings, 'open finding')}: geneticlog reconcile {at_a_glance.shipment}"
        )
    if cost.n_billed is not None:
        say_wrapped(f"  {cost_in_words(cost)}", "    ")
    for line in duplicates_in_words(pairs):
        say_wrapped(f"  {line}", "    ")
    on_its_way = at_a_glance.standing in (ShipmentStanding.PACKED, ShipmentStanding.SENT)
    if ethanol and on_its_way and not at_a_glance.complete:  # at the lab nobody carries it any more
        amber(ethanol.sentences)
    amber(medium_warnings(at_a_glance.shipment, document["n_without_medium"]))
    many = max((seat.container_number for seat in placed), default=1) > 1
    say_table(
        ["position", "vial", "role", "fish", "class", "where"],
        [
            [
                f"{seat.container_number}, {seat.position}" if many else seat.position,
                seat.vial,
                ROLES[seat.role],
                seat.fish,
                seat.size_class,
                seat.custody + (f" ({seat.arrival_note})" if seat.arrival_note else ""),
            ]
            for seat in placed
        ],
    )


def said_of_list(shipments: Sequence[Follow]) -> None:
    if not shipments:
        click.echo("No shipment is packed yet: geneticlog shipment pack CODE --lab LAB --survey SURVEY")
        return
    say_table(
        ["shipment", "lab", "state", "vials", "days out", "missing", "failed", "open findings"],
        [
            [
                row.shipment,
                row.lab,
                row.state,
                row.n_vials,
                row.days_out,
                row.counts.missing if row.counts else None,
                row.counts.failed if row.counts else None,
                row.n_open_findings or None,
            ]
            for row in shipments
        ],
        numbers=["vials", "days out", "missing", "failed", "open findings"],
    )


def cost_in_words(cost: Cost) -> str:
    """Return samples billed against samples returned and failed, as one sentence."""
    if cost.n_billed is None:
        return "No bill is recorded."
    amount = "" if cost.amount is None else f" (${cost.amount:,.2f})"
    each = "" if cost.per_result is None else f"; ${cost.per_result:,.2f} for each vial with a result"
    blanks = f", {n_of(cost.n_clean_blanks, 'blank')} clean" if cost.n_clean_blanks else ""
    more = cost.n_billed - cost.n_returned
    beyond = f", {more} of them beyond what came back" if more > 0 else ""
    return (
        f"Billed {n_of(cost.n_billed, 'sample')}{amount}{beyond}: {cost.n_sent} sent, {cost.n_returned} returned, "
        f"{cost.n_failed} of these failed{blanks}{each}."
    )


def blanks_in_words(counts: Counts) -> str:
    """Return what the blanks of a shipment came to: nothing is what is wanted of them."""
    if counts.clean_blanks == counts.blanks:
        clean = "clean" if counts.blanks == 1 else "both clean" if counts.blanks == 2 else "all clean"
        they = "it counts" if counts.blanks == 1 else "they count"
        return f"blanks: {counts.blanks} returned, {clean} ({they} as matched)"
    dirty = counts.blanks - counts.clean_blanks
    return (
        f"blanks: {counts.blanks} returned, {counts.clean_blanks} clean, {dirty} with a genotype or in doubt: see the"
        " findings"
    )


def duplicates_in_words(pairs: Compared) -> list[str]:
    """Return how far the two vials of each fish agree, both results side by side, never averaged."""
    from geneticlog.rules.intervals import wilson

    if not pairs.pairs:
        return []
    lines = [f"two vials of one fish, both typed: {len(pairs.pairs)} fish"]
    for pair in pairs.pairs:
        alleles = f", {pair.n_alleles:.1f} alleles apart" if pair.n_alleles is not None else ""
        flag = "; too far apart" if pair.disagree else ""
        lines.append(
            f"  {printed(pair.vial)} and {printed(pair.other_vial)}: "
            f"q {pair.q:.3f} and {pair.other_q:.3f}{alleles}{flag}"
        )
    if pairs.n_compared:
        if pairs.error_below is not None:
            shown = f"no difference, which shows an error below {100 * pairs.error_below:.2f} % and no more (95 %)"
        else:
            limits = wilson(pairs.n_different, pairs.n_compared)
            shown = (
                f"{pairs.n_different} differ ({100 * pairs.n_different / pairs.n_compared:.1f} %, 95 % interval "
                f"{100 * limits.low:.1f} to {100 * limits.high:.1f} %): {pairs.verdict}"
            )
        lines.append(f"  {pairs.n_compared} genotypes compared, {shown}")
    return lines


def said_of_check(seen: Mapping[str, Any]) -> None:
    click.echo(f"Shipment {seen['shipment']}: {seen['n_seen']} of {n_of(seen['n_expected'], 'vial')} seen.")
    for stranger in seen["does_not_belong"]:
        name = printed(stranger["vial"]) if stranger["vial"] else repr(stranger["written"])
        click.echo(f"  {name}  does not belong (scan {stranger['line']})")
    for missed in seen["not_seen"]:
        click.echo(f"  {printed(missed['vial'])}  not seen; its place is {missed['position']}")
    click.echo("The box is as the list says." if seen["whole"] else "The box is not as the list says.")


def said_of_resample(lost: Sequence[Lost]) -> None:
    if not lost:
        click.echo("No size class lost a fish to a failure.")
        return
    say_table(
        [
            "survey",
            "size class",
            "sent",
            "never sent",
            "lost",
            "with result",
            "target",
            "short by",
            "fish lost",
        ],
        [
            [
                row.survey,
                row.size_class or "not judged",
                row.n_sent,
                row.n_never_sent,
                row.n_lost,
                row.n_resulted,
                row.target,
                row.short_by,
                ", ".join(name.partition("#")[2] for name in row.fish[:12])
                + (f" and {len(row.fish) - 12} more" if len(row.fish) > 12 else ""),
            ]
            for row in lost
        ],
        numbers=["sent", "never sent", "lost", "with result", "target", "short by"],
    )


def ethanol_document(ethanol: EthanolNote | None) -> dict[str, Any] | None:
    """Return what a shipment's ethanol comes to, for --json."""
    if ethanol is None:
        return None
    return {
        "n_vials": ethanol.n_vials,
        "fill_ml": ethanol.fill_ml,
        "total_ml": ethanol.total_ml,
        "n_packages": ethanol.n_packages,
        "package_ml": ethanol.package_ml,
        "amber": ethanol.amber,
        "above": [
            {"rule": f.rule, "limits": f.limits, "ml": f.ml, "source": f.source} for f in ethanol.above
        ],
        "text": list(ethanol.sentences),
    }
