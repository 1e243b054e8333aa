"""What a correction changed, in the words of help and tables: units behind values, moments local to the minute."""

from __future__ import annotations

import time

import pytest

from geneticlog.work.changed_words import NONE, changes_in_words, name_in_words, value_in_words


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="Windows has no tzset")
def test_moments_are_local_and_to_the_minute(monkeypatch):
    monkeypatch.setenv("TZ", "America/Chicago")
    time.tzset()
    try:
        old, new = {"arrived_at": "2026-05-20T09:00+00:00"}, {"arrived_at": "2026-05-21T14:00:31+00:00"}
        assert changes_in_words(old, new) == ["arrived: 2026-05-20 04:00 -> 2026-05-21 09:00"]
        assert changes_in_words({"sent_at": None}, {"sent_at": new["arrived_at"]}) == [
            f"sent: {NONE} -> 2026-05-21 09:00"
        ]
    finally:
        monkeypatch.undo()
        time.tzset()


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ({"area_ha": 14.2}, {"area_ha": 15.0}, ["area: 14.2 ha -> 15 ha"]),
        ({"site": None, "uid": 1}, {"site": "cove", "uid": 1}, ["site: (none) -> cove"]),
        (
            {"length": 16.5, "length_unit": "in"}, {"length": 419.0, "length_unit": "mm"},
            ["length: 16.5 in -> 419 mm"],
        ),
        ({"length": 16.5, "length_unit": "in"}, {"length": 16.5, "length_unit": "mm"}, ["length unit: in -> mm"]),
        ({"vials": ["BG000001J"]}, {"vials": []}, ["vials: BG 000 001 J -> (none)"]),
        ({"species": "largemouth_bass"}, {"species": "spotted_bass"}, ["species: largemouth bass -> spotted bass"]),
        ({"remarks": "kept_aside"}, {"remarks": ""}, ["remarks: kept_aside -> (none)"]),
        ({"q": 0.25}, {"q": 0.5, "heterozygosity": 0.1}, ["q: 0.25 -> 0.5"]),  # H was not there before
    ],
)  # fmt: skip
def test_changes_have_the_words_of_tables(old, new, words):
    assert changes_in_words(old, new) == words


def test_names_and_values_alone():
    assert (name_in_words("arrived_at"), name_in_words("heterozygosity")) == ("arrived", "H")
    assert value_in_words("latitude", 29.1234) == "29.1234°"
    assert (value_in_words("fee", 38.5), value_in_words("usual_days", 21)) == ("$38.5", "21")
