"""Random sections and asks for the tests of whole answers."""

from hypothesis import strategies as st

from rungwright.domain.grades import GRADE_CODES

MATERIALS = ("craft_stick", "copy_paper", "masking_tape", "foil")
CRITERIA = ("wind", "dry", "load", "entry", "room")


@st.composite
def runs(draw):
    groups = draw(st.integers(1, 12))
    named = draw(st.lists(st.sampled_from(CRITERIA), min_size=1, max_size=5, unique=True))
    results = [{"criterion": c, "end": {"met": draw(st.integers(0, groups)), "of": groups}} for c in named]
    return [{"challenge": "shelter", "on": "2026-10-14", "groups": groups, "results": results}]


@st.composite
def requests(draw):
    lowest = draw(st.integers(0, 12))
    grades = sorted({lowest, min(12, lowest + draw(st.integers(0, 2)))})
    section = {
        "label": "Kestrel",
        "grades": [GRADE_CODES[g] for g in grades],
        "students": draw(st.integers(1, 60)),
        "group_size": draw(st.integers(1, 6)),
        "sessions": [
            {"minutes": m} for m in draw(st.lists(st.sampled_from([15, 30, 45, 60, 90]), min_size=1, max_size=2))
        ],
        "adults": draw(st.integers(1, 3)),
    }
    if draw(st.booleans()):
        section["materials"] = [
            {"material": m, "quantity": draw(st.sampled_from([0, 1, 2, 40, 150, 300]))} for m in MATERIALS
        ]
    if draw(st.booleans()):
        section["supports"] = {draw(st.sampled_from(["fine_motor", "reading", "sensory"])): 1}
    return {
        "challenge": "shelter",
        "section": section,
        "runs": draw(st.one_of(st.just([]), runs())),
        "ask": {
            "direction": draw(st.sampled_from(["easier", "fit", "harder"])),
            "notches": draw(st.integers(1, 2)),
            "pinned": draw(st.lists(st.sampled_from(["load_positions", "cover_cm2", "rigid_pieces"]), max_size=1)),
        },
        "include": ["kit", "brief", "timetable"],
    }
