"""Tokens as crews, scanners and spreadsheets write them: what each means on a card, or the question it brings.

How numbers and codes are written on boats is common practice, no source; what each line should mean was written
down by hand. V stands for a vial code that checks, W for another.
"""

from __future__ import annotations

import pytest

from geneticlog.rules.boat.card import offer, open_card
from geneticlog.rules.boat.logline import LogLineError, read_line
from geneticlog.rules.boat.sitting import CardAsks, CardRefused, Rules
from geneticlog.rules.vialcode import parse

V, W = "BG4F7Q2KR", "RB0000014"

# In a survey of inches and pounds, on an empty card: token -> what the card says then; "?" a question with these
# choices, "!" a refusal with these words in it.
INCHES = r"""
16.5 -> 16.5 in
16.5. -> 16.5 in
16. -> 16 in
.5 lb 9 -> 9 in, 0.5 lb
16,5 -> 16.5 in
16 1/2 -> 16.5 in
16-1/2 -> 16.5 in
16 - 1/2 -> 16.5 in
16½ -> 16.5 in
16 ½ -> 16.5 in
16⁄2 -> ! alone may be part
16 1/2" -> 16.5 in
16-1/2" -> 16.5 in
16.5" -> 16.5 in
16.5″ -> 16.5 in
16.5” -> 16.5 in
16.5'' -> 16.5 in
16.5in -> 16.5 in
16.5 in. -> 16.5 in
16.5 IN -> 16.5 in
16.5 inches -> 16.5 in
16 1/2in. -> 16.5 in
41.9 cm -> 41.9 cm
41,9cm -> 41.9 cm
419 mm -> 419 mm
419mm -> 419 mm
419 millimeters -> 419 mm
TL 16.5 -> 16.5 in
tl16.5 -> 16.5 in
TL=16.5 -> 16.5 in
length: 16.5 -> 16.5 in
16.5 2.3 -> 16.5 in, 2.3 lb
16.5 2,3 -> 16.5 in, 2.3 lb
16,5 2,3 -> 16.5 in, 2.3 lb
16.5,2.3 -> 16.5 in, 2.3 lb
16.5, 2.3 -> 16.5 in, 2.3 lb
16.5;2.3 -> 16.5 in, 2.3 lb
16.5<tab>2.3 -> 16.5 in, 2.3 lb
16.5 2-5 -> 16.5 in, 2.3125 lb
16-1/2 2-5 -> 16.5 in, 2.3125 lb
16 1/2 2 lb 5 oz -> 16.5 in, 2.3125 lb
16 1/2 2lb5oz -> 16.5 in, 2.3125 lb
16 1/2 2lb 5oz -> 16.5 in, 2.3125 lb
16 1/2 2 lbs. 5 oz. -> 16.5 in, 2.3125 lb
16 1/2 2 lb, 5 oz -> 16.5 in, 2.3125 lb
16 1/2 2 lb and 5 oz -> 16.5 in, 2.3125 lb
16 1/2 2lb5 -> 16.5 in, 2.3125 lb
16 1/2 2lbs5 -> 16.5 in, 2.3125 lb
16 1/2 2#5 -> 16.5 in, 2.3125 lb
16 1/2 2#5oz -> 16.5 in, 2.3125 lb
16 1/2 2# 5 oz -> 16.5 in, 2.3125 lb
16 1/2 2-5 oz -> 16.5 in, 2.3125 lb
16.5 2# -> 16.5 in, 2 lb
16.5 2.3# -> 16.5 in, 2.3 lb
16.5 2.3lb -> 16.5 in, 2.3 lb
16.5 2.3 lbs -> 16.5 in, 2.3 lb
16.5 2.3 lbs. -> 16.5 in, 2.3 lb
16.5 2.3 pounds -> 16.5 in, 2.3 lb
16.5 37 oz -> 16.5 in, 37 oz
16.5 37oz. -> 16.5 in, 37 oz
16.5 1050 g -> 16.5 in, 1050 g
16.5 1050g -> 16.5 in, 1050 g
16.5 1.05kg -> 16.5 in, 1.05 kg
16.5 1,05 kg -> 16.5 in, 1.05 kg
16.5in2lb5oz -> 16.5 in, 2.3125 lb
16.5"2.3lb -> 16.5 in, 2.3 lb
16½2.3 -> 16.5 in, 2.3 lb
16 1/2 2 1/4 -> 16.5 in, 2.25 lb
wt 2.3 tl 16.5 -> 16.5 in, 2.3 lb
tl 16.5 wt 2-5 -> 16.5 in, 2.3125 lb
2 lb 16.5 -> 16.5 in, 2 lb
2 lb 5 in -> 5 in, 2 lb
1/2 lb 10 -> 10 in, 0.5 lb
2.3 lb 16.5 -> 16.5 in, 2.3 lb
V -> V
v -> V
BG 4F7 Q2K R -> V
bg-4f7 q2k r -> V
BG-4F7-Q2K-R -> V
BG4F7Q2KR. -> V
BG4F7Q2KR: -> V
"BG4F7Q2KR" -> V
'BG4F7Q2KR' -> V
“BG4F7Q2KR” -> V
«BG4F7Q2KR» -> V
<BG4F7Q2KR> -> V
(BG4F7Q2KR) -> V
[BG4F7Q2KR] -> V
*BG4F7Q2KR* -> V
"BG4F7Q2KR". -> V
]Q1BG4F7Q2KR -> V
]d2BG4F7Q2KR -> V
]C0BG4F7Q2KR -> V
]A0BG4F7Q2KR -> V
<stx>BG4F7Q2KR<etx> -> V
<gs>BG4F7Q2KR -> V
<bom>BG4F7Q2KR -> V
https://labels.example/v/BG4F7Q2KR -> V
https://labels.example/BG4F7Q2KR?s=1 -> V
HTTPS://LABELS.EXAMPLE/?vial=BG4F7Q2KR&n=2 -> V
www.labels.example/#BG4F7Q2KR -> V
BG4F7Q2KR<tab> -> V
BG4F7Q2KR 16.5 -> V, 16.5 in
BG4F7Q2KR<tab>16.5 -> V, 16.5 in
BG4F7Q2KR,16.5,2.3 -> V, 16.5 in, 2.3 lb
16.5,2.3,BG4F7Q2KR -> V, 16.5 in, 2.3 lb
"BG4F7Q2KR","16.5","2.3" -> V, 16.5 in, 2.3 lb
BG4F7Q2KR;16,5;2,3 -> V, 16.5 in, 2.3 lb
16.5 BG4F7Q2KR 2.3 -> V, 16.5 in, 2.3 lb
16.5RB0000014 -> W, 16.5 in
16.5inRB0000014 -> W, 16.5 in
16 1/2RB0000014 -> ! not understood
16-1/2RB0000014 -> W, 16.5 in
16½RB0000014 -> W, 16.5 in
RB000001416.5 -> W, 16.5 in
RB000001416 -> W, 16 in
]Q1RB000001416.5 -> W, 16.5 in
16 BG4F7Q2KR 1/2 lb -> V, 16 in, 0.5 lb
16 BG4F7Q2KR 1/2 -> ! alone may be part of
BG4F7Q2KR second RB0000014 16.5 -> V, second W, 16.5 in
BG4F7Q2KR RB0000014 16.5 -> ! two vial codes
BG4F7Q2KR 16.5 clip -> V, 16.5 in, fin clip
BG4F7Q2KR 16.5 finclip kept -> V, 16.5 in, fin clip, kept
BG4F7Q2KR 16.5 swab -> V, 16.5 in, mouth swab
16.5 KEPT -> 16.5 in, kept
16.5 dead -> 16.5 in, died
16.5 released -> 16.5 in, released
spotted bass 12.5 -> 12.5 in, spotted bass
12.5 smb -> 12.5 in, smallmouth bass
largemouth 16.5 -> 16.5 in, largemouth bass
16.5 # hook scar, left jaw -> 16.5 in, # hook scar, left jaw
16.5 #3 -> 16.5 in, # 3
10.2 x4 -> 10.2 in, x4
x4 10.2 -> 10.2 in, x4
10.2 ×4 -> 10.2 in, x4
10.2 4x -> 10.2 in, x4
10.2 in x 4 -> 10.2 in, x4
10.2x4 -> 10.2 in, x4
2-5 -> 2.3125 lb
2.3 16.5 -> ? exchanged, as typed
10 in 1/2 -> ! '1/2' alone
10 in 1/2 lb -> 10 in, 0.5 lb
1/2 -> ! '1/2' alone
2 lb 5 -> ! may be ounces or a length
16.5 2 lb 5 -> ! may be ounces or a length
16.5 2 lb 17 -> ! too many numbers
16.5 2-16 -> ! ounces below 16
16.5 2lb16 -> ! ounces below 16
1O.5 -> ! '1O.5' is not understood
I6.5 -> ! 'I6.5' is not understood
16.S -> ! '16.S' is not understood
16..5 -> ! '16..5' is not understood
16.5.2 -> ! '16.5.2' is not understood
16.5blue -> ! '16.5blue' is not understood
16.5 blue -> ! 'blue' is not understood
-16.5 -> ! '-16.5' is not understood
+16.5 -> ! '+16.5' is not understood
~16.5 -> ! '~16.5' is not understood
16.5? -> ! '16.5?' is not understood
16 3/2 -> ! not a part of one
16 1/0 -> ! not a part of one
0 -> ! more than zero
419,1050 -> ! the comma
1'4" -> ! not understood
walleye 15 -> ! walleye is another species
15 walleye -> ! walleye is another species
channel catfish 20 -> ! channel catfish is another species
gar -> ! gar is another species
carp 22 8 lb -> ! carp is another species
swabbed 16.5 -> ! 'swabbed' is not understood
hookscar -> ! 'hookscar' is not understood
tagged 16.5 -> ! 'tagged' is not understood
16.5 undo -> ! line of its own
16.5 2.3 4.4 -> ! too many numbers
16 in 17 in -> ! too many numbers
2 lb 3 lb -> ! too many numbers
16.5 2.3 x4 -> ! cannot have a weight
BG4F7Q2KR 10 x4 -> ! cannot have a vial
16.5 x0 -> ! not a tally
x4 -> ! no fish on the card
kept -> ! no fish on the card
clip -> ! no fish on the card
second BG4F7Q2KR -> ! there is none; log the fish first
second -> ! beside the code
second BG4F7Q2KR 16.5 -> ! the other vial of a fish
tl -> ! not understood
BG4F7Q2KR, 16 5 -> V, 16 in, 5 lb
"""

# In a survey of millimetres and grams.
MILLIMETRES = """
419 -> 419 mm
419 1050 -> 419 mm, 1050 g
419,5 1050 -> 419.5 mm, 1050 g
380 330 -> ? exchanged, as typed
1050 419 -> ? exchanged
270 280 -> 270 mm, 280 g
41.9 cm 1.05 kg -> 41.9 cm, 1.05 kg
16 1/2 in 2 lb 5 oz -> 16.5 in, 2.3125 lb
419 2-5 -> ! not a weight in g
419 2lb5 -> 419 mm, 2.3125 lb
1,050 -> ! the comma
419mm1050g -> 419 mm, 1050 g
419RB0000014 -> W, 419 mm
RB0000014419 -> W, 419 mm
V 419 1050 g -> V, 419 mm, 1050 g
"""


def rows(table: str) -> list[tuple[str, str]]:
    found = []
    for row in table.strip().splitlines():
        token, _, meaning = row.rpartition(" -> ")
        if token in ("V", "v") or token.startswith("V "):
            token = token.replace("V", V).replace("v", V.lower())
        for name, sign in {"tab": "\t", "stx": "\x02", "etx": "\x03", "gs": "\x1d", "bom": "\ufeff"}.items():
            token = token.replace(f"<{name}>", sign)
        found.append((token, meaning))
    return found


def meant(token: str, length_unit: str, weight_unit: str) -> str:
    sitting = open_card(Rules(length_unit, weight_unit), "card1")
    try:
        after = offer(sitting, read_line(token, length_unit, weight_unit), "card2")
    except CardAsks as asks:
        return "? " + ", ".join(asks.question.choices)
    except (LogLineError, CardRefused) as fault:
        return f"! {fault}"
    line = (after.card if not after.card.empty else after.closed[-1]).line
    words = (after.card if not after.card.empty else after.closed[-1]).words
    for code, name in ((line.vial, "V" if line.vial and parse(line.vial) == V else "W"), (line.second, "W")):
        if code:
            words = words.replace(
                f"{parse(code)[:2]} {parse(code)[2:5]} {parse(code)[5:8]} {parse(code)[8]}", name
            )
    return words


def test_there_are_at_least_150_tokens() -> None:
    assert len({token for token, _ in rows(INCHES) + rows(MILLIMETRES)}) >= 190


@pytest.mark.parametrize(("table", "units"), [(INCHES, ("in", "lb")), (MILLIMETRES, ("mm", "g"))])
def test_each_token_means_what_the_table_says(table: str, units: tuple[str, str]) -> None:
    wrong = []
    for token, meaning in rows(table):
        found = meant(token, *units)
        as_said = (
            found.startswith("! ") and meaning[2:] in found if meaning.startswith("! ") else found == meaning
        )
        if not as_said:
            wrong.append(f"{token!r}: {found!r}, not {meaning!r}")
    assert not wrong, "\n".join(wrong)
