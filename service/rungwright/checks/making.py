"""How each reference form is made, in a teacher's words: the sizes are those that its strength is worked out for."""

from __future__ import annotations

_POST = (
    "Cut sheets lengthwise in half, roll each strip into a post 105 mm (4¼ in) tall and 20 mm (¾ in) across, close it "
    "with tape, and stand one at each corner"
)
_FRAME = (
    "Stand four sticks as posts, join their tops with sticks, two strips of tape at each corner, and tape paper over "
    "the walls so that it cannot lean"
)
_ROLL = "roll whole sheets tightly, 12 mm (½ in) across, close them with tape"
_FOLD = "fold sheets laid together to and fro every 14 mm (½ in) and tape both edges so that the folds cannot spread"

# By the beginning of the form's id; the longest that fits counts.
_HOW = {
    "frame_1_0": f"{_FRAME}; tape a sheet over the top, two strips a side.",
    "frame_1": f"{_FRAME}; lay the other sticks across the top, side by side under the spots.",
    "frame_2": f"{_FRAME}; make it two bays long with sticks that overlap by 10 mm (⅜ in), and lay any others across.",
    "leaning_free": "Tape three sticks to a sheet for each panel and lean two panels on each other at 60°.",
    "leaning_": (
        "Tape pairs of sticks at their tops so that they lean at 60°, tie the feet of each pair with a strip, and join "
        "the tops with a ridge stick."
    ),
    "posts_sticks": f"{_POST}; tape sticks across their tops.",
    "posts_flat": f"{_POST}; tape a flat sheet over them, down at every side.",
    "posts_folded": f"{_POST}; {_FOLD}; lay it across with the folds from side to side.",
    "posts_rolls": f"{_POST}; {_ROLL} and lay them across from side to side.",
    "poles_": (
        "Tape sticks together at one end, spread the feet 55 mm (2¼ in) from the middle, and tie each foot to the next "
        "with a strip; hang a sheet round them."
    ),
    "arch_": "Bend sheets laid together into a half circle 150 mm (6 in) wide and tape both feet to the base.",
    "box_paper": "Fold two sheets into four walls 110 mm (4¼ in) tall, tape every corner, and tape a lid on.",
    "span_flat": "Lay four sticks side by side from edge to edge and tape them together in two places.",
    "span_layers_taped": (
        "Lay sticks end to end in three layers with the joints staggered and wrap tape round every 50 mm (2 in); make "
        "two, and lay paper across."
    ),
    "span_layers_glued": (
        "Glue sticks end to end in three layers with the joints staggered, clamp them with pegs and let them dry "
        "overnight; make two, and lay paper across."
    ),
    "span_box": (
        "Glue a flat stick over and under two sticks on edge, every wall doubled with the joints staggered, and let it "
        "dry overnight; make two, and lay paper across."
    ),
    "span_truss": (
        "Tape sticks into triangles side by side, lapped 14 mm (½ in) with a strip on either face; make two and join "
        "them with sticks across at every joint."
    ),
    "span_rolls": f"Like beams: {_ROLL}, lay them from edge to edge, tape them together and lay a sheet over.",
    "span_folded": f"Like a wavy board: {_FOLD}; lay it from edge to edge and tape a flat sheet under it.",
    "tower_4_plain": (
        "Stand four sticks as posts with sticks round their feet and tops, lap the next tier's posts, and lay two "
        "across the top."
    ),
    "tower_4_braced": (
        "Stand four sticks as posts with sticks round their feet and tops and a diagonal on every side, lap the "
        "next tier's posts by 20 mm (¾ in), two strips each, and lay two across the top."
    ),
    "tower_3_braced": (
        "Stand three sticks as posts with sticks round their feet and tops and a diagonal on every side, lap the "
        "next tier's posts by 20 mm (¾ in), two strips each, and lay two across the top."
    ),
    "tower_rolls": f"{_POST}; lay a flat sheet between tiers, and on top a platform: {_FOLD}.",
    "raft_sticks": "Lay sticks side by side in two crossed layers and tape them together.",
    "raft_straws": "Fold tape over both ends of every straw so that no water comes in, and tape them side by side.",
    "hull": "Fold up the four sides 30 mm (1¼ in) high, fold the corners over without cutting, and tape them outside.",
}


def how_to_make(form: str) -> str:
    """For the id of a form. Raises KeyError where none is told."""
    return _HOW[max((start for start in _HOW if form.startswith(start)), key=len, default=form)]
