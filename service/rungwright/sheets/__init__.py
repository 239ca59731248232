"""The printed lesson: sheets made from one answer, their words from the rule base, and the PDFs made of them.

`blocks` is what a sheet is made of; a module a sheet turns an answer into blocks (`brief`, `record`, `figures`,
`stations`, `calls`, `questions`, `discussion`, `letter`, `teacher`, `kit`); `typesetting` turns blocks into PDF.
Nothing is computed here that the answer does not hold. `ladder` prints a ladder from its report in the same way. A new
sheet: a function to blocks, an entry in `printing`, words under `rules/words/`.
"""

from rungwright.sheets.calendar import calendar
from rungwright.sheets.edits import Edits, lines_of, waiting
from rungwright.sheets.kit import kit_csv
from rungwright.sheets.ladder import LadderSheet, ladder_printed
from rungwright.sheets.late import late_line
from rungwright.sheets.lesson import Lesson, NotPrintable, Wanted
from rungwright.sheets.paper import PaperName
from rungwright.sheets.printing import NotNeeded, SheetName, printed, sheets_of
from rungwright.sheets.typesetting import TypesettingError

__all__ = [
    "Edits",
    "LadderSheet",
    "Lesson",
    "NotNeeded",
    "NotPrintable",
    "PaperName",
    "SheetName",
    "TypesettingError",
    "Wanted",
    "calendar",
    "kit_csv",
    "ladder_printed",
    "late_line",
    "lines_of",
    "printed",
    "sheets_of",
    "waiting",
]
