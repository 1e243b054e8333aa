"""A crew's hands on the boat's page in a browser, and what the database holds afterwards."""

from __future__ import annotations

import json
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

import cv2
import numpy as np
from conftest import Runner
from label_camera import Light, photograph, printed_dots
from playwright.sync_api import Page, expect

from geneticlog.faces.label.stocks import load_stocks

SURVEY = "HERON-2026"
FRACTIONS = {
    "1/4": ["a quarter"],
    "3/8": ["a quarter", "an eighth more"],
    "1/2": ["a half"],
    "3/4": ["three quarters"],
}
EIGHTHS = {"": 0.0, "1/4": 0.25, "3/8": 0.375, "1/2": 0.5, "3/4": 0.75}


def opened_survey(run: Runner, n_labels: int = 90, wanted: int = 3) -> list[str]:
    """Open a survey with a plan and labels; return their codes."""
    run("office", "add", "TH")
    run("lake", "add", "HERON", "Heron Lake")
    run("plan", "HERON", "--wanted", wanted)
    run("survey", "open", "HERON", "2026-05-12", "--code", SURVEY)
    out = Path(tempfile.mkdtemp(prefix="labels-")) / "labels.pdf"
    printed = run("label", "print", "-n", n_labels, "--survey", SURVEY, "--out", out, "--json")
    return list(json.loads(printed.stdout)["vials"])


def photo_of(code: str, folder: Path, seed: int, **light: object) -> str:
    """Photograph a label as a phone would; return the file."""
    stock = load_stocks(None)["roll-2-300"]
    taken = Light(**{"pixels": (7.0, 9.0), **light})  # type: ignore[arg-type]
    shot = photograph(printed_dots(stock, code), stock, code, taken, np.random.default_rng(seed))
    file = folder / f"{code}.jpg"
    cv2.imwrite(str(file), shot)
    return str(file)


def stored(run: Runner) -> dict[int, str]:
    """Return the fish of the survey: number -> its vials, length and weight, so that none can be there twice."""
    fish = json.loads(run("fish", "list", SURVEY, "--json").stdout)["fish"]
    numbers = [one["fish"] for one in fish]
    assert len(numbers) == len(set(numbers))
    return {
        one["fish"]: words(
            one["length"], one["weight"], *one["vials"], n_fish=one["n_fish"], size=one["size_class"]
        )
        for one in fish
    }


def words(
    length: float | None,
    weight: float | None = None,
    *vials: str | None,
    n_fish: int = 1,
    size: str | None = None,
) -> str:
    """Return a fish as the test writes it: "16.5 in 2.5 lb TH000001J"."""
    parts = [f"x{n_fish}"] if n_fish > 1 else []
    parts += [f"{length:g} in"] if length is not None else [size or ""]
    parts += [f"{weight:.4g} lb"] if weight is not None else []
    return " ".join([*parts, *sorted(vial for vial in vials if vial)])


@dataclass
class Crew:
    """Two hands on one page; they count their touches."""

    page: Page
    touches: int = 0
    wanted: list[str] = field(default_factory=list)

    def touch(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()
        self.touches += 1

    def measure(self, length: str) -> float:
        whole, _, fraction = length.partition(" ")
        for name in [*whole, *FRACTIONS.get(fraction, [])]:
            self.touch(name)
        return float(whole) + EIGHTHS[fraction]

    def weigh(self, pounds: str, ounces: str) -> float:
        """Enter a weight; where a fraction ended the length, the keypad is on the pounds already."""
        if self.page.locator("[data-slot=lb]").get_attribute("aria-pressed") != "true":
            self.page.locator("[data-slot=lb]").click()
            self.touches += 1
        for digit in pounds:
            self.touch(digit)
        self.page.locator("[data-slot=oz]").click()
        self.touches += 1
        for digit in ounces:
            self.touch(digit)
        return float(pounds) + float(ounces) / 16

    def scan(self, code: str, ends_with: str = "Enter") -> None:
        """A scanner types the code in no time and sends a key, or none."""
        self.page.evaluate(
            "keys => { for (const key of keys)"
            " document.body.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true})); }",
            [*code, *([ends_with] if ends_with else [])],
        )

    def gone(self) -> None:
        """Wait until the card is empty: the fish is stored, or held."""
        expect(self.page.locator("#s-length")).to_have_text("–", timeout=20_000)
        expect(self.page.locator("#s-vial")).to_have_text("–")

    def held(self, n: int, refused: int = 0, link: bool = True) -> None:
        text = f"{n} held, {refused} refused" + ("" if link else ", no link")
        expect(self.page.locator("#held")).to_have_text(text, timeout=30_000)

    def view(self, name: str) -> None:
        self.page.locator(f"nav .k[data-view={name}]").click()


def ready(page: Page, person: str = "Ada Test") -> Crew:
    expect(page.locator("#crew")).to_contain_text(person, timeout=20_000)
    page.set_default_timeout(15_000)
    return Crew(page)
