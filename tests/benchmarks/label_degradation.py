"""Print the table "How labels read" of DEVELOPERS.md: the share of labels read back under each kind of damage.

Run from the project's folder: ``python tests/benchmarks/label_degradation.py [labels a cell]``. Seeded.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent.parent))

from label_camera import Light, share_read

from geneticlog.faces.label.stocks import load_stocks
from geneticlog.rules.vialcode import mint

PLAIN = Light()
CONDITIONS: dict[str, Light] = {
    "sharp": replace(PLAIN, blur=0.0),
    "clean but blurred (0.25 module)": PLAIN,
    "flat, as before": replace(PLAIN, od_mm=0),
    "vial of 10.8 mm": replace(PLAIN, od_mm=10.8),
    "vial of 8 mm": replace(PLAIN, od_mm=8.0),
    "turned up to 25 degrees off the axis": replace(PLAIN, rolled=25),
    "far away: 2 to 3 pixels a module": replace(PLAIN, pixels=(2.0, 3.0)),
    "blur of 0.35 module": replace(PLAIN, blur=0.35),
    "blur of 0.5 module": replace(PLAIN, blur=0.5),
    "low contrast (80 to 170 of 255)": replace(PLAIN, black=80, white=170),
    "very low contrast (110 to 150 of 255)": replace(PLAIN, black=110, white=150),
    "one dot of ink spread": replace(PLAIN, spread_dots=1),
    "two dots of ink spread": replace(PLAIN, spread_dots=2),
    "torn corner, 10 % of the side": replace(PLAIN, torn=0.1),
    "torn corner, 20 % of the side": replace(PLAIN, torn=0.2),
    "torn corner, 40 % of the side": replace(PLAIN, torn=0.4),
    "glare streak, 1 % of the view": replace(PLAIN, glare=0.01),
    "glare streak, 2 %": replace(PLAIN, glare=0.02),
    "glare streak, 5 %": replace(PLAIN, glare=0.05),
    "glare streak, 8 %": replace(PLAIN, glare=0.08),
    "glare over all of it": replace(PLAIN, glare=3.0),
    "black up to the symbol (no quiet zone)": replace(PLAIN, quiet_modules=0),
    "black from 2 modules on": replace(PLAIN, quiet_modules=2),
}
STOCKS = ("roll-1-600", "roll-1-300", "roll-1-203")


def main() -> None:
    n = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    stocks = load_stocks()
    codes = [code for serial in range(1, 3 * n) if (code := mint("BG", serial * 2_300_017 % 32**6))][:n]
    print(
        "| what happens to the label | 600 dpi, 6 dots | 300 dpi, 3 dots | 203 dpi, 3 dots | OpenCV, 600 dpi |"
    )
    print("|---|---|---|---|---|")
    for condition, light in CONDITIONS.items():
        shares = [share_read(stocks[name], codes, light, seed=20260512) for name in STOCKS]
        shares.append(share_read(stocks[STOCKS[0]], codes, light, seed=20260512, second=True))
        print(f"| {condition} | " + " | ".join(f"{share:.1%}" for share in shares) + " |", flush=True)


if __name__ == "__main__":
    from results import kept

    with kept("label_reading"):
        main()
