"""Numbers of the physical checks that are data: value, range, unit, source and status of each.

Status: `found` read on the named page; `second hand` read on a page that quotes the source; `from memory` handbook
named, page not seen; `derived` computed; `starting guess` nothing published, to be replaced by measurement.
"""

from __future__ import annotations

from dataclasses import dataclass

from rungwright.domain.grades import Band

GRAVITY = 9.81  # m/s2
GRAVITY_N_PER_G = 9.81e-3


@dataclass(frozen=True)
class Quantity:
    """A number with its range; `log` spreads it evenly in its logarithm, for ranges over a factor of two."""

    low: float
    high: float
    unit: str
    source: str
    status: str
    log: bool = False


@dataclass(frozen=True)
class Spread:
    """A positive number that spreads as a lognormal: median and its 5 % and 95 % points."""

    low: float
    mid: float
    high: float
    unit: str
    source: str
    status: str


# Ranges that are propagated through every reference form.
MATERIAL: dict[str, Quantity] = {
    "stick_thickness": Quantity(1.6, 2.0, "mm", "craft-stick product pages: 2 mm, on some 1.6 mm", "found"),
    "stick_width": Quantity(9.5, 10.5, "mm", "craft-stick product pages: 10 mm", "found"),
    "stick_e": Quantity(9e3, 13e3, "MPa", "Wood Handbook, paper birch 11.0 GPa, yellow 13.9", "second hand"),
    "stick_strength": Quantity(60.0, 110.0, "MPa", "Wood Handbook, birch MOR 85-114; small sticks vary", "from memory"),
    "paper_thickness": Quantity(0.095, 0.105, "mm", "copy paper 80 g/m2, about 0.10 mm", "found"),
    "paper_e": Quantity(3000.0, 6500.0, "MPa", "paper data sheet 3-8.9 GPa; mean of two directions", "found"),
    "paper_crush": Quantity(8.0, 17.0, "MPa", "a third of tensile 23-51 MPa of the paper data sheet", "derived"),
    "tape_lap": Quantity(0.05, 0.15, "N/mm2", "shear of a masking-tape lap on wood or paper", "starting guess", True),
    "tape_peel": Quantity(2.0, 3.0, "N/10 mm", "masking tape on wood or paper; 3.3 on steel", "from memory"),
    "friction": Quantity(0.2, 0.5, "-", "card or paper on a table 0.2-0.4; cardboard on wood 0.5", "from memory"),
    "glue_shear": Quantity(1.0, 3.0, "N/mm2", "white glue between sticks, dried overnight", "starting guess", True),
    "joint_turn": Quantity(30.0, 300.0, "N mm/rad", "a taped corner that turns", "starting guess", True),
    "straw_wall": Quantity(0.12, 0.20, "mm", "plastic straws", "from memory"),
    "straw_e": Quantity(1300.0, 1800.0, "MPa", "polypropylene 1.3-1.8 GPa", "from memory"),
}

STICK_LENGTH_MM = 114.0  # craft-stick product pages: 114 x 10 x 2 mm; found
STICK_MASS_G = 1.39  # birch craft stick, 0.95-1.57 g; found
SHEET_LONG_MM = 297.0  # A4 copy paper; Letter is 279 x 216, 6 % less along the roll
SHEET_SHORT_MM = 210.0
SHEET_MASS_G = 4.99  # A4 at 80 g/m2; found
TAPE_WIDTH_MM = 24.0  # usual school roll
STRAW_LENGTH_MM = 210.0  # plastic straw 210 x 6 mm; from memory
STRAW_DIAMETER_MM = 6.0
STRAW_MASS_G = 0.52  # 905 kg/m3, wall 0.15 mm; derived
TAPE_MASS_G_PER_CM = 0.036  # 24 mm wide, about 150 g/m2; from memory
FOIL_MASS_G_PER_CM2 = 0.00432  # household foil 16 um, 43.2 g/m2; found
FIGURE_MASS_G = 0.79  # card figure 75 x 30 mm, 250 g/m2, base 30 x 30 mm; derived
POUCH_MM = 60.0  # side of the patch on which a bag, can or bottle rests; a 355 ml can is 66 mm wide

# Knockdown of the classical wrinkling stress for a rolled sheet of loose turns: under NASA SP-8007's curve for a
# smooth tube of this R/t (about 0.6 at R/t 100), as the turns are loose. Starting guess, range .3-.6.
ROLL_KNOCKDOWN = 0.4
# Share of its own buckling stress coefficient: a long plate held along both edges, k pi^2/(12(1-nu^2)) = 3.6 at k 4.
FOLD_PLATE_COEFFICIENT = 3.6
# Roof sheet taped at its edges: sag at which it is full [mm], and part of the two other sides. Starting guesses.
SHEET_SAG_MM = 12.0
SHEET_SIDES = 1.5
# A sheet over single posts has no edge beam to pull on. Starting guess, range .4-.8.
SHEET_ON_POSTS = 0.6

# Achieved over theory. Guess until runs teach it.
WORKMANSHIP: dict[Band, Spread] = {
    Band.K_2: Spread(0.12, 0.22, 0.41, "-", "common practice", "starting guess"),
    Band.G3_5: Spread(0.17, 0.30, 0.52, "-", "common practice", "starting guess"),
    Band.G6_8: Spread(0.23, 0.38, 0.62, "-", "common practice", "starting guess"),
    Band.G9_12: Spread(0.28, 0.45, 0.71, "-", "common practice", "starting guess"),
}

# Share of groups that think of rolling or folding paper without being told. Starting guess.
KNOWS_TO_ROLL: dict[Band, float] = {Band.K_2: 0.15, Band.G3_5: 0.4, Band.G6_8: 0.8, Band.G9_12: 1.0}

# Tape: below this nothing is joined at all; with less than a form needs its joints lose strength in proportion, down to
# the least share. Starting guesses.
LEAST_TAPE_CM = 15.0
LEAST_JOINT_SHARE = 0.3

# Part of its kit that a build ends up with. Starting guess.
KIT_USED = Spread(0.65, 0.82, 1.0, "-", "common practice", "starting guess")
# Drag of a build over drag of the reference box, both blunt: cube 1.05 face-on, prism 1.3 +- .3, plate 1.28 (Hoerner
# from memory; NASA Glenn, Shape Effects on Drag).
DRAG_OVER_BOX = Spread(0.8, 1.0, 1.25, "-", "Hoerner; NASA Glenn, Shape Effects on Drag", "from memory")
BOX_FACE_MM2 = 150.0 * 110.0
BOX_DRAG = Quantity(1.0, 1.3, "-", "box face-on: cube 1.05 (Hoerner), plate 1.28 (NASA Glenn)", "from memory")
AIR_DENSITY = 1.225  # kg/m3 at 15 C, sea level

# A full stroke of a trigger sprayer. Weigh 20 strokes to calibrate (method: ASTM D4336).
STROKE_ML = Spread(0.8, 1.0, 1.2, "ml", "trigger sprayers", "from memory")

# Median stature at each birthday [mm], mean of boys and girls; CDC stature-for-age; found.
STATURE_MM: dict[int, float] = {
    3: 944.4, 4: 1014.9, 5: 1082.8, 6: 1150.5, 7: 1216.3, 8: 1277.3, 9: 1332.2, 10: 1383.0, 11: 1437.5, 12:
    1501.2, 13: 1566.2, 14: 1621.2, 15: 1659.0, 16: 1680.3, 17: 1691.0, 18: 1696.4, 19: 1699.3, 20: 1700.9,
}  # fmt: skip

FIGURE_WIDTH_MM = 30.0  # of a paper figure with its arms: common practice
CLEARANCE_MM = 5.0  # beside and above a figure that goes in by hand: common practice
LYING_MM = (75.0, 30.0)  # floor of a figure that lies, common practice; a taller one is as long as it is tall
# A floor this part smaller each way must still hold the figures for the room to be clear. Starting guess.
FLOOR_SHRINKS = 0.05
# Cover or paper needed over the area covered, for seams and edges. Common practice.
OVERLAP = 1.1
