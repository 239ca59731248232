"""A small line drawing of what is built in each family of challenges, drawn for these pages."""

from __future__ import annotations

from collections.abc import Mapping

from markupsafe import Markup

from rungwright.domain.challenge import Family
from rungwright.web.pictures import joined, tag

_GROUND = ("M4 86H116", "ground")
_PICTURES: Mapping[Family, list[tuple[str, str]]] = {
    # Walls, a roof with a bag on it, gusts from the left, somebody in the door.
    "shelter": [
        _GROUND,
        ("M34 86V44H92V86M28 44H98", ""),
        ("M52 44c-3-14 6-20 11-20s14 6 11 20z", "accent"),
        ("M58 86V62H70V86", ""),
        ("M64 70v9m-3-4h6m-6 11 3-7 3 7", ""),
        ("M6 54c6-4 9 4 15 0M6 66c6-4 9 4 15 0", "air"),
    ],
    # Two banks, a braced deck between them, a weight in its middle, water below.
    "span": [
        ("M2 86H26V46H2M118 86H94V46H118", ""),
        ("M20 46H100L84 30H36ZM36 30 48 46 60 30 72 46 84 30", ""),
        ("M52 30c-2-10 4-14 8-14s10 4 8 14z", "accent"),
        ("M30 78c7-5 12 5 19 0s12 5 19 0 12 5 19 0", "water"),
    ],
    # Two tiers with diagonals, a platform with a weight, a ladder of air beside it.
    "tower": [
        _GROUND,
        ("M40 86 46 26M80 86 74 26M42 58H78M40 86 78 58M42 58 74 26M38 26H82", ""),
        ("M52 26c-2-9 4-13 8-13s10 4 8 13z", "accent"),
        ("M98 86V26M94 32l4-6 4 6M94 80l4 6 4-6", "ground"),
    ],
    # A flat deck with a box and somebody on it, waves.
    "raft": [
        ("M24 58H96L90 70H30Z", ""),
        ("M40 40H62V58H40Z", "accent"),
        ("M78 40v10m-5-6h10m-9 14 4-8 4 8", ""),
        ("M4 72c8-6 14 6 22 0M94 72c8-6 14 6 22 0M12 84c8-6 14 6 22 0s14 6 22 0 14 6 22 0 14 6 22 0", "water"),
    ],
    # A parcel under a canopy on its way down.
    "carrier": [
        _GROUND,
        ("M28 34C30 8 90 8 92 34 82 28 70 28 60 34 50 28 38 28 28 34Z", ""),
        ("M28 34 52 60M92 34 68 60M60 34V60", ""),
        ("M48 60H72V78H48Z", "accent"),
        ("M24 60v12M96 60v12", "air"),
    ],
    # A cup inside layers, with warmth that stays.
    "keep_warm": [
        _GROUND,
        ("M22 34H98V86H22ZM32 44H88V86", ""),
        ("M32 44V86", ""),
        ("M46 56H74V82H46ZM74 62h6v10h-6", "accent"),
        ("M54 28c-4-6 4-8 0-14M66 28c-4-6 4-8 0-14", "air"),
    ],
}


def family_picture(family: Family) -> Markup:
    """Beside the name of a challenge, which says what it is: hidden from who cannot see it."""
    lines = joined([tag("path", d=d, class_=kind) for d, kind in _PICTURES[family]])
    return tag("svg", lines, class_="challenge-picture", viewBox="0 0 120 90", aria_hidden="true")
