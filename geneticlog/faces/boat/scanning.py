"""Scanning vials one by one, at the prompt or from a pipe: said at once, with a beep, when one does not belong."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from typing import Any

import click

from geneticlog.errors import GeneticlogError, Refused
from geneticlog.faces.app.desk import Desk
from geneticlog.faces.boat.log_lines import piped_lines

BEEP = "\a"
END = {"", "done", "end", "quit"}


def scanned_lines(asks: str) -> Iterator[tuple[int, str]]:
    """Yield (line number, text) of each scan; an empty line ends at the prompt, the end of the file in a pipe,
    which may be UTF-8 or UTF-16."""
    if not sys.stdin.isatty():
        for number, line in enumerate(piped_lines(), start=1):
            if (text := line.strip()) and not text.startswith("#"):
                yield number, text
        return
    number = 0
    while True:
        click.echo(f"{asks} {number + 1}: ", nl=False, err=True)
        line = sys.stdin.readline()
        text = line.strip()
        if not line or text.lower() in END:
            return
        number += 1
        if not text.startswith("#"):
            yield number, text


def scan_vials(desk: Desk, code: str) -> list[str]:
    """Return the codes scanned for packing. At the prompt a vial that cannot be packed beeps and is left out.

    Raises Refused with one line a fault when they come from a pipe: then none is taken.
    """
    from geneticlog.rules.vialcode import printed
    from geneticlog.work.shipment.packable import look_up, why_not

    at_prompt = sys.stdin.isatty()
    taken: list[str] = []
    faults: list[str] = []
    if at_prompt:
        desk.note(f"Scan the vials of {code} in the order of their positions; an empty line ends.")
    for number, text in scanned_lines("vial"):
        scanned = ""
        with desk.reading() as session:
            try:
                vial = look_up(session, text)
                scanned = vial.code
                why = why_not(session, vial)
                if scanned in taken:
                    why = "is in this box already"
                fault = f"{printed(scanned)} {why}" if why else None
            except GeneticlogError as wrong:
                fault = str(wrong)
        if fault is None:
            taken.append(scanned)
            if at_prompt:
                desk.note(f"  {printed(scanned)}  {len(taken)} in the box")
        elif at_prompt:
            desk.note(f"{BEEP}  NOT TAKEN: {fault}")
        else:
            faults.append(f"line {number}: {fault}")
    if faults:
        more = f"\n… and {len(faults) - 10} more" if len(faults) > 10 else ""
        raise Refused("\n".join(faults[:10]) + more + "\nnothing was packed")
    return taken


def check_vials(desk: Desk, code: str) -> dict[str, Any]:
    """Hold scanned vials against a shipment's list; return what belongs, what does not and what was not seen."""
    from geneticlog.rules.vialcode import VialCodeError, parse, printed
    from geneticlog.work.events import find_shipment
    from geneticlog.work.shipment.manifest import in_order

    with desk.reading() as session:
        shipment = find_shipment(session, code)
        places = {at.vial.code: (at.container_number, at.position) for at in in_order(session, shipment)}
        code = shipment.code
    many = max((number for number, _ in places.values()), default=1) > 1
    say: Callable[[str], None] = desk.note
    seen: list[str] = []
    strangers: list[dict[str, Any]] = []
    twice: list[str] = []
    for number, text in scanned_lines("vial"):
        try:
            vial = parse(text)
        except VialCodeError as fault:
            say(f"{BEEP}{fault}")
            strangers.append({"line": number, "vial": None, "written": text})
            continue
        if vial not in places:
            say(f"{BEEP}{printed(vial)}  DOES NOT BELONG to shipment {code}: take it out")
            strangers.append({"line": number, "vial": vial, "written": text})
        elif vial in seen:
            say(f"{BEEP}{printed(vial)}  seen already, at {_place(places[vial], many)}")
            twice.append(vial)
        else:
            seen.append(vial)
            say(f"{printed(vial)}  {_place(places[vial], many)}  {len(seen)} of {len(places)}")
    missed = [vial for vial in places if vial not in set(seen)]
    return {
        "shipment": code,
        "n_expected": len(places),
        "n_seen": len(seen),
        "does_not_belong": strangers,
        "seen_twice": twice,
        "not_seen": [
            {"vial": vial, "container_number": places[vial][0], "position": places[vial][1]}
            for vial in missed
        ],
        "whole": not strangers and not missed,
    }


def _place(at: tuple[int, str], many: bool) -> str:
    return f"{at[0]}, {at[1]}" if many else at[1]
