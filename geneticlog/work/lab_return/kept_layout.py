"""How a lab lays out its returns: kept for the lab, and taken for each of its files."""

from __future__ import annotations

from dataclasses import replace

from sqlalchemy.orm import Session

from geneticlog.rules.lab_return.sheet.reading import Reading
from geneticlog.rules.lab_return.words.headings import Taxa
from geneticlog.rules.lab_return.words.layout import Layout
from geneticlog.rules.stamp import Stamp
from geneticlog.store.layouts import layout_of, read_layout, read_markers, write_layout
from geneticlog.store.tables import Lab, Shipment
from geneticlog.work.events import record


def layout_for(session: Session, shipment: Shipment) -> Layout:
    """Return the layout of the shipment's lab, with the taxa and marker table of its panel."""
    panel = shipment.panel
    taxa = Taxa(panel.taxon, panel.other_taxon) if panel else Taxa()
    source = f"layout of lab {shipment.lab.code}"
    layout = read_layout(shipment.lab.layout, source, taxa) if shipment.lab.layout else Layout(taxa=taxa)
    if panel and panel.markers and not layout.markers:
        layout = replace(layout, markers=read_markers(panel.markers, f"markers of panel {panel.code}"))
    return layout


def keep_layout(session: Session, lab: Lab, reading: Reading, *, stamp: Stamp) -> None:
    """Keep how a file was read, with what a person answered, for the lab's next files; its units decide nothing."""
    old, lab.layout = lab.layout, write_layout(layout_of(reading))
    record(
        session, "layout_kept", "lab", lab.code, stamp=stamp, old={"layout": old}, new={"layout": lab.layout},
    )  # fmt: skip
