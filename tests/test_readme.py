"""What the README shows is what the program prints."""

import re
import subprocess
import sys

from rungwright.rulebase import default_folder


def test_the_tour_is_real_output():
    root = default_folder().parent
    readme = (root / "README.md").read_text(encoding="utf-8")
    shown = readme.split("What the first command prints, shortened:")[1].split("```")[1]
    printed = subprocess.run(
        [sys.executable, "-c", "from rungwright.cli import main; main()", "recommend", "--demo", "grade_4_harder"],
        capture_output=True,
        text=True,
        check=True,
        env={"COLUMNS": "88", "PATH": "", "PYTHONUTF8": "1"},
    ).stdout
    for part in re.split(r"\n\n", shown.strip()):
        for line in part.splitlines():
            assert line in printed, line
